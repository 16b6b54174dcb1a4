package wording

import "maps"

// The texts of the test mail and of what `ventdue mail test` found: of each step what was looked at, of each problem what to do.
func init() { maps.Copy(english, englishDoctor) }

var englishDoctor = map[string]string{
	"doctor.letter.title": "Test mail", "doctor.letter.when": "Sent by {operator} to try the way of its reminders.",
	"doctor.letter.text": "If you read this, reminders can reach this mailbox.",
	"doctor.letter.look": "To see how receivers judge it, show this mail's source and look for the field Authentication-Results: spf, dkim and dmarc should say pass.",

	"doctor.good": "good", "doctor.doubted": "look at this", "doctor.wrong": "wrong", "doctor.open": "look up by hand",
	"doctor.said": "It was said:",

	"doctor.step.from": "Sender: people read {from}, servers see {sender}", "doctor.step.dkim": "Signature (DKIM)", "doctor.step.dkim.good": "Signature (DKIM): {algorithm}, for {domain}, key {selector}; covers {fields}",
	"doctor.step.one_click": "One-click unsubscribe", "doctor.step.server": "Mail server {server}", "doctor.step.tls": "Encryption", "doctor.step.tls.good": "Encryption: {version}, certificate for {names}, from {issuer}, until {ends}",
	"doctor.step.login": "Sign-in", "doctor.step.login.good": "Sign-in: accepted, or not asked for", "doctor.step.sender": "Sender taken: {sender}", "doctor.step.recipient": "Receiver taken: {recipient}",
	"doctor.step.message": "Test mail taken", "doctor.step.folder": "Mail folder", "doctor.step.spf": "SPF: who may send for {return_domain}",
	"doctor.step.dmarc": "DMARC: what receivers do with mail from {domain} that proves nothing", "doctor.step.reputation": "Reputation, and whether mail lands in the inbox",
	"doctor.step.dkim_record": "DKIM: the public key",

	"doctor.from.domain":               "The address that bounces go to lies in another domain. Set mail.bounce_address to one in the domain of mail.from, or receivers may distrust the mail.",
	"doctor.dkim.off":                  "Mails are not signed. Many providers distrust unsigned mail: let your mail server sign, or set mail.dkim_domain, mail.dkim_selector and mail.dkim_key_file.",
	"doctor.dkim.key":                  "The key cannot be read. It must be a private key in PEM form, RSA of 2048 bits or Ed25519, without a pass phrase, readable by the service: openssl genpkey -algorithm RSA -pkeyopt rsa_keygen_bits:2048 -out FILE",
	"doctor.dkim.verify":               "The signature does not hold. The key may be damaged: make a new one.",
	"doctor.dkim.fields":               "The signature leaves out the fields of the one-click unsubscribe, so that providers ignore them. This is a fault of the program: report it.",
	"doctor.dkim.domain":               "The signature is in the name of {domain}, the mail from {from}. Sign in the sender's own domain, or DMARC fails where SPF does.",
	"doctor.dkim.short":                "The key is short ({algorithm}). Make one of 2048 bits.",
	"doctor.one_click.no_https":        "web.base_url does not begin with https://, so mails have no one-click unsubscribe; large providers ask for one. Put a proxy with a certificate in front and set web.base_url.",
	"doctor.server.settings":           "The settings can never work. Mend what stands below.",
	"doctor.server.name":               "The server's name is not known. Look at the spelling of mail.host and at this machine's name service.",
	"doctor.server.silent":             "Nobody answers. A firewall may be in between: many networks block port 25, so try 587 or 465 (mail.port).",
	"doctor.server.refused":            "The connection is refused. Look at mail.host and mail.port, and whether the server runs.",
	"doctor.server.greeting":           "The server greets us with a refusal. Try again later, or ask who runs it whether this machine may connect.",
	"doctor.server.no_mail_server":     "What answers there does not speak like a mail server. Port 465 wants mail.security: tls; 587 and 25 want starttls.",
	"doctor.tls.plain":                 "Nothing is encrypted. That is fine for a server on this machine alone.",
	"doctor.tls.no_starttls":           "The server offers no encryption here. Use the port for submission (587), or 465 with mail.security: tls.",
	"doctor.tls.certificate_name":      "The certificate is for {names}, not for {server}. Set mail.host to the name in the certificate.",
	"doctor.tls.certificate_ended":     "The certificate ended on {ends}. Whoever runs the server must renew it.",
	"doctor.tls.certificate_soon":      "The certificate ends on {ends}, in {days} days. Whoever runs the server should renew it.",
	"doctor.tls.certificate_authority": "The certificate comes from {issuer}, whom this machine does not know. Set mail.ca_file to its certificate if it is your own, and do not go on if it is not.",
	"doctor.tls.other":                 "No encrypted connection comes about. mail.security may not fit the port: tls for 465, starttls for 587.",
	"doctor.login.no_user":             "The server offers a sign-in ({ways}) and no user name is set. It may refuse to pass mail on: set mail.username and mail.password.",
	"doctor.login.not_offered":         "A user name is set, and the server offers no sign-in here. Try another port (587 or 465), or remove mail.username.",
	"doctor.login.ways":                "The server offers only ways to sign in that are not known here: {ways}. Ask for PLAIN or LOGIN, or for a password for programs.",
	"doctor.login.refused":             "The server refuses user name or password. Many providers want a password made for one program instead of your own.",
	"doctor.sender.address":            "An address cannot be used on this server. Choose a plain one for mail.from and mail.bounce_address.",
	"doctor.sender.refused":            "The server does not let us send as {sender}. Use the address that belongs to the sign-in, or have the server permit it.",
	"doctor.sender.refused_marked":     "The server does not let us send as {sender}. If it permits the address without the part behind the plus sign, set mail.one_return: true; else use the address that belongs to the sign-in.",
	"doctor.recipient.refused":         "The server says that {recipient} cannot be reached. Look at the spelling, or try an address that is known to work.",
	"doctor.recipient.ours":            "The server does not pass our mail on to {recipient}. Sign in (mail.username), or have it permit this machine to relay.",
	"doctor.recipient.later":           "The server wants us to come back later for {recipient}. That is usual for a first mail (grey listing); reminders are tried again by themselves.",
	"doctor.message.refused":           "The server refuses the mail itself. Its words say why; unsigned mail and a sender without a good name are the usual causes.",
	"doctor.message.no_answer":         "The mail was sent and the answer was lost. It may have arrived. If this happens often, raise mail.timeout.",
	"doctor.folder.only":               "Mails are written to a folder, and none is sent. Set mail.mode: smtp and the mail server to send.",
	"doctor.folder.closed":             "The folder cannot be written. Look at mail.folder and its permissions.",
	"doctor.spf.open":                  "dig +short TXT {return_domain}    must show one record that begins with v=spf1 and names your mail server, by include: or ip4:.",
	"doctor.dmarc.open":                "dig +short TXT _dmarc.{domain}    should show a record that begins with v=DMARC1. Start with p=none and read its reports before you ask for more.",
	"doctor.reputation.open":           "Send to a mailbox at each large provider, and look where it lands and what its Authentication-Results field says.",
	"doctor.dkim_record.open":          "dig +short TXT {name}    must show: {record}",
	"doctor.end.good":                  "Reminders can leave.", "doctor.end.doubted": "Reminders can leave; look at what is named above.", "doctor.end.wrong": "Reminders cannot leave yet: mend what is wrong above.",
}
