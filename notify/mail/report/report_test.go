package report

import (
	"errors"
	"fmt"
	"reflect"
	"strings"
	"testing"
)

// crlf gives a mail its line ends.
func crlf(s string) string { return strings.ReplaceAll(s, "\n", "\r\n") }

// A report in the shape of the first example of RFC 3464 (appendix E.1), with invented names: one recipient given up after
// five days, the mail's own head behind it.
const expired = `From: Mail Delivery Subsystem <MAILER-DAEMON@mail.example.net>
To: <office+mark1@vents.example.com>
Subject: Returned mail: Cannot send message for 5 days
MIME-Version: 1.0
Content-Type: multipart/report; report-type=delivery-status;
      boundary="RAA14128.773615765/MAIL.EXAMPLE.NET"

--RAA14128.773615765/MAIL.EXAMPLE.NET

The original message was received at Sat, 2 Jul 1994 17:10:28 -0400

   ----- The following addresses had delivery problems -----
<pat@slip.example.org>  (unrecoverable error)

--RAA14128.773615765/MAIL.EXAMPLE.NET
content-type: message/delivery-status

Reporting-MTA: dns; mail.example.net

Original-Recipient: rfc822;Pat@Slip.example.org
Final-Recipient: rfc822;pat@slip.example.org
Action: failed
Status: 4.0.0
Diagnostic-Code: smtp; 426 connection timed out
Last-Attempt-Date: Thu, 7 Jul 1994 17:15:49 -0400

--RAA14128.773615765/MAIL.EXAMPLE.NET
content-type: message/rfc822

Message-ID: <abc@vents.example.com>
Return-Path: <office+mark2@vents.example.com>
Subject: Clean the dryer vent

body
--RAA14128.773615765/MAIL.EXAMPLE.NET--
`

// One of RFC 3464's second and third kinds (appendix E.2, E.3): several recipients, of which some went on.
const several = `From: MAILER-DAEMON@mail.example.net
To: office+mark1@vents.example.com
Content-Type: multipart/report; report-type=delivery-status; boundary=x

--x
Content-Type: message/delivery-status

Reporting-MTA: dns; mail.example.net

Final-Recipient: rfc822;one@example.org
Action: failed
Status: 5.1.1 (no such user)
Diagnostic-Code: smtp; 550-5.1.1 no such
 user 'one'

Final-Recipient: rfc822;two@example.org
Action: delayed
Status: 4.4.1
Will-Retry-Until: Thu, 14 Jul 2027 17:15:49 -0400

Final-Recipient: rfc822;three@example.org
Action: delivered
Status: 2.0.0

Final-Recipient: rfc822;four@example.org
Action: failed
Status: 5.7.1
Diagnostic-Code: smtp; 550 5.7.1 looks like unwanted mail

--x
Content-Type: text/rfc822-headers

Message-ID:
 <abc@vents.example.com>

--x--
`

// The example of RFC 5965 section B.2, with invented names.
const complaint = `From: <abusedesk@example.org>
Subject: FW: Clean the dryer vent
To: <abuse@vents.example.com>
MIME-Version: 1.0
Content-Type: multipart/report; report-type=feedback-report;
     boundary="part1_13d.2e68ed54_boundary"

--part1_13d.2e68ed54_boundary
Content-Type: text/plain; charset="US-ASCII"

This is an email abuse report.

--part1_13d.2e68ed54_boundary
Content-Type: message/feedback-report

Feedback-Type: abuse
User-Agent: SomeGenerator/1.0
Version: 1
Original-Mail-From: <office+mark1@vents.example.com>
Original-Rcpt-To: <pat@example.org>
Arrival-Date: Thu, 8 Mar 2005 14:00:00 EDT

--part1_13d.2e68ed54_boundary
Content-Type: message/rfc822
Content-Disposition: inline

From: <office@vents.example.com>
Message-ID: <abc@vents.example.com>
To: <pat@example.org>

body
--part1_13d.2e68ed54_boundary--
`

// QSBMF as its author specifies it (cr.yp.to/proto/qsbmf.txt).
const qsbmf = `Return-Path: <>
From: MAILER-DAEMON@list.example.net
To: office+mark1@vents.example.com
Subject: failure notice

Hi. This is the mail-send program at list.example.net.
I'm afraid I wasn't able to deliver your message to the following addresses.
This is a permanent error; I've given up. Sorry it didn't work out.

<pat@example.org>:
This message is looping: it already has my Delivered-To line. (#5.4.6)

<sam@example.org>:
Sorry, no mailbox here by that name. (#5.1.1)

--- Below this line is a copy of the message.

Return-Path: <office+mark2@vents.example.com>
Message-ID: <abc@vents.example.com>
Subject: 550 reasons for <wrong@example.org>
`

// A server that names the failed addresses in a field of its own.
const named = `Return-path: <>
X-Failed-Recipients: pat@example.org
Auto-Submitted: auto-replied
From: Mail Delivery System <Mailer-Daemon@mail.example.net>
To: office+mark1@vents.example.com
Subject: Mail delivery failed: returning message to sender

This message was created automatically by mail delivery software.

A message that you sent could not be delivered to one or more of its
recipients. This is a permanent error. The following address(es) failed:

  pat@example.org
    host mx.example.org [192.0.2.1]
    SMTP error from remote mail server after RCPT TO:<pat@example.org>:
    550 5.1.1 <pat@example.org>: Recipient address rejected

------ This is a copy of the message, including all the headers. ------

Return-path: <office+mark2@vents.example.com>
Message-ID: <abc@vents.example.com>
`

const plain = `From: Postmaster <postmaster@mail.example.net>
To: office+mark1@vents.example.com
Subject: Delivery failure

Your message did not reach:

pat@example.org
   mx.example.org said: 550 mailbox unavailable

Original-Message-ID: <abc@vents.example.com>
`

func TestRead(t *testing.T) {
	r := func(address, original string, action Kind, status, why string) Recipient {
		return Recipient{Address: address, Original: original, Action: action, Status: status, Why: why}
	}
	for _, c := range []struct {
		name, mail string
		want       Report
		dead       []bool
	}{
		{"given up after five days", expired, Report{Kind: Bounce, SentTo: []string{"office+mark1@vents.example.com", "office+mark2@vents.example.com"},
			MessageIDs: []string{"abc@vents.example.com"}, Recipients: []Recipient{r("pat@slip.example.org", "Pat@Slip.example.org", Bounce, "4.0.0", "426 connection timed out")}}, []bool{true}},
		{"several", several, Report{Kind: Bounce, SentTo: []string{"office+mark1@vents.example.com"}, MessageIDs: []string{"abc@vents.example.com"},
			Recipients: []Recipient{r("one@example.org", "", Bounce, "5.1.1", "550-5.1.1 no such user 'one'"), r("two@example.org", "", Delay, "4.4.1", "4.4.1"),
				r("four@example.org", "", Bounce, "5.7.1", "550 5.7.1 looks like unwanted mail")}}, []bool{true, false, false}},
		{"complaint", complaint, Report{Kind: Complaint, SentTo: []string{"abuse@vents.example.com", "office+mark1@vents.example.com"}, MessageIDs: []string{"abc@vents.example.com"},
			Recipients: []Recipient{r("pat@example.org", "", Complaint, "", "complaint: abuse")}}, []bool{false}},
		{"QSBMF", qsbmf, Report{Kind: Bounce, SentTo: []string{"office+mark1@vents.example.com", "office+mark2@vents.example.com"}, MessageIDs: []string{"abc@vents.example.com"},
			Recipients: []Recipient{r("pat@example.org", "", Bounce, "5.4.6", "This message is looping: it already has my Delivered-To line. (#5.4.6)"),
				r("sam@example.org", "", Bounce, "5.1.1", "Sorry, no mailbox here by that name. (#5.1.1)")}}, []bool{false, true}},
		{"failed recipients in a field", named, Report{Kind: Bounce, SentTo: []string{"office+mark1@vents.example.com", "office+mark2@vents.example.com"}, MessageIDs: []string{"abc@vents.example.com"},
			Recipients: []Recipient{r("pat@example.org", "", Bounce, "5.1.1", "host mx.example.org [192.0.2.1] SMTP error from remote mail server after RCPT TO:<pat@example.org>: 550 5.1.1 <pat@example.org>: Recipient address rejected")}}, []bool{true}},
		{"plain words", plain, Report{Kind: Bounce, SentTo: []string{"office+mark1@vents.example.com"}, MessageIDs: []string{"abc@vents.example.com"},
			Recipients: []Recipient{r("pat@example.org", "", Bounce, "", "mx.example.org said: 550 mailbox unavailable")}}, []bool{true}},
	} {
		for ending, text := range map[string]string{"LF": c.mail, "CRLF": crlf(c.mail), "mbox": "From MAILER-DAEMON Thu Jul  7 17:16:05 1994\n" + c.mail} {
			got, err := Read(strings.NewReader(text))
			if err != nil || !reflect.DeepEqual(got, c.want) {
				t.Errorf("%s, %s: %v\n got %+v\nwant %+v", c.name, ending, err, got, c.want)
				continue
			}
			for i, x := range got.Recipients {
				if x.BlamesAddress() != c.dead[i] {
					t.Errorf("%s: %s %s blames the address: %v", c.name, x.Address, x.Status, !c.dead[i])
				}
			}
		}
	}
}

// What is no report: an absence note, an answer that quotes a bounce, a success, a thing that was no complaint, nothing.
func TestReadsNoReport(t *testing.T) {
	for name, mail := range map[string]string{
		"absence note":   "From: pat@example.org\nReturn-Path: <>\nAuto-Submitted: auto-replied\nTo: office+m@vents.example.com\nSubject: Away\n\nI am away. 550 people@example.org wrote.\n",
		"quoted bounce":  "From: pat@example.org\nReturn-Path: <pat@example.org>\nTo: office+m@vents.example.com\n\n> pat@example.org\n> 550 5.1.1 no such user\n",
		"success":        "From: mailer-daemon@example.org\nContent-Type: multipart/report; boundary=x\n\n--x\nContent-Type: message/delivery-status\n\nReporting-MTA: dns; x\n\nFinal-Recipient: rfc822; pat@example.org\nAction: delivered\nStatus: 2.0.0\n\n--x--\n",
		"not spam":       strings.Replace(complaint, "Feedback-Type: abuse", "Feedback-Type: not-spam", 1),
		"empty body":     "From: mailer-daemon@example.org\n\n",
		"no boundary":    "From: mailer-daemon@example.org\nContent-Type: multipart/report\n\nFinal-Recipient: rfc822; pat@example.org\nAction: failed\n",
		"no end of head": "From: mailer-daemon@example.org\n",
		"nothing":        "",
		"bytes":          string([]byte{0, 1, 2, 255, 254, 13, 10}),
	} {
		if got, err := Read(strings.NewReader(mail)); err == nil {
			t.Errorf("%s: %+v", name, got)
		} else if name != "nothing" && name != "bytes" && name != "no end of head" && !errors.Is(err, ErrNone) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// A mail that was cut off, nested without end, or far too large is read as far as it goes, in bounded memory and time.
func TestHostileMails(t *testing.T) {
	for cut := range len(expired) {
		_, _ = Read(strings.NewReader(expired[:cut]))
	}
	if got, err := Read(strings.NewReader(expired[:strings.Index(expired, "content-type: message/rfc822")])); err != nil || len(got.Recipients) != 1 {
		t.Errorf("cut off behind the status: %+v, %v", got, err)
	}
	var deep strings.Builder
	deep.WriteString("From: mailer-daemon@example.org\n")
	for i := range 3000 {
		fmt.Fprintf(&deep, "Content-Type: multipart/mixed; boundary=b%d\n\n--b%d\n", i, i)
	}
	if _, err := Read(strings.NewReader(deep.String())); !errors.Is(err, ErrNone) {
		t.Errorf("nested: %v", err)
	}
	var many strings.Builder
	many.WriteString("From: mailer-daemon@example.org\nContent-Type: multipart/report; boundary=x\n\n--x\nContent-Type: message/delivery-status\n\n")
	for i := range 200_000 {
		fmt.Fprintf(&many, "Final-Recipient: rfc822; p%d@example.org\nAction: failed\nStatus: 5.1.1\n\n", i)
	}
	if got, err := Read(strings.NewReader(many.String())); err != nil || len(got.Recipients) != maxRecipients {
		t.Errorf("%d recipients, %v", len(got.Recipients), err)
	}
	huge := "From: mailer-daemon@example.org\nTo: " + strings.Repeat("a@b.example, ", 400_000) + "\n\nx"
	if got, err := Read(strings.NewReader(huge)); err == nil {
		t.Errorf("a head without end: %+v", got)
	}
}

// Any bytes: no panic, no control characters in what is shown, bounds kept.
func FuzzRead(f *testing.F) {
	for _, seed := range []string{expired, several, complaint, qsbmf, named, plain} {
		f.Add(seed)
		f.Add(crlf(seed))
	}
	f.Fuzz(func(t *testing.T, mail string) {
		r, err := Read(strings.NewReader(mail))
		if err != nil {
			return
		}
		if r.Kind == "" || len(r.SentTo) > maxAddresses || len(r.MessageIDs) > maxAddresses || len(r.Recipients) > maxRecipients {
			t.Fatalf("%+v", r)
		}
		for _, x := range r.Recipients {
			if len(x.Why) > maxWhy+10 || strings.ContainsFunc(x.Why, func(r rune) bool { return r < ' ' || r == 0x7f }) {
				t.Fatalf("%q", x.Why)
			}
		}
	})
}
