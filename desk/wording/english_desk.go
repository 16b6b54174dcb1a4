package wording

import "maps"

// The texts of accounts, first days and the desk's own pages are a part of their own, so that no file holds all of them.
func init() { maps.Copy(english, englishDesk) }

var englishDesk = map[string]string{
	"page.nav.accounts": "Accounts", "page.nav.tokens": "Tokens", "page.nav.me": "My account", "page.signedin": "Signed in:",
	"page.language.own": "English", "page.language.operator": "as the installation",
	"page.role.owner": "Owner", "page.role.office": "Office", "page.role.technician": "Technician",
	"page.role.does.owner":      "Owner: everything, also settings, accounts and tokens",
	"page.role.does.office":     "Office: everything of the day",
	"page.role.does.technician": "Technician: their own day, and writing down what they find",

	"page.accounts.title": "Who signs in", "page.accounts.text": "Each of you has an account of their own. Customers and whoever lives with a dryer never need one.",
	"page.accounts.open": "Nobody has to sign in yet: everybody at this machine may do everything. That ends with the first account, which has to be an owner's.",
	"page.accounts.list": "Accounts", "page.accounts.none": "There is no account yet.", "page.accounts.self": "this is you",
	"page.accounts.never": "Never signed in.", "page.accounts.seen": "Last seen {when}.",
	"page.accounts.new": "A new account", "page.accounts.new.go": "Make the account",
	"page.accounts.change": "Change", "page.accounts.change.go": "Keep",
	"page.accounts.reset": "New password", "page.accounts.reset.text": "Signs them out everywhere. Tell them the new password yourself; they can change it.", "page.accounts.reset.go": "Set the password",
	"page.accounts.signout.text": "Ends every sign-in of this account, on every device.",
	"page.accounts.remove":       "Remove", "page.accounts.remove.text": "They cannot sign in any more, and are signed out at once. What they wrote down stays, with their name.",
	"page.accounts.everybody": "Sign everybody out", "page.accounts.everybody.text": "Ends every sign-in of everybody on every device, this one too.",
	"page.accounts.field.name": "Name", "page.accounts.field.name.hint": "Typed to sign in, and written beside what they do.",
	"page.accounts.field.password": "First password", "page.accounts.field.new_password": "New password", "page.accounts.field.password.hint": "At least {least} characters; several words are easy to keep.",
	"page.accounts.field.role": "What they may do", "page.accounts.field.language": "Language of the pages",
	"page.accounts.field.person": "Whose visits they work on", "page.accounts.field.person.hint": "Of a technician: an e-mail address or key of theirs. Left empty, it is the technician of this name, who is made if there is none.",
	"page.accounts.done.made": "The account is made.", "page.accounts.done.changed": "It is changed.", "page.accounts.done.password": "The password is set, and they are signed out everywhere.",
	"page.accounts.done.signout": "They are signed out everywhere.", "page.accounts.done.removed": "The account is removed.",
	"page.accounts.problem.first":    "The first account has to be an owner's: from then on everybody has to sign in, and somebody must be able to make the other accounts.",
	"page.accounts.problem.password": "The password will not do: take at least {least} characters, at most 72 bytes, and not the name.",
	"page.accounts.problem.name":     "The name is missing or too long.", "page.accounts.problem.role": "Choose what they may do.",
	"page.accounts.problem.taken":     "Somebody has this name already. Take another one.",
	"page.accounts.problem.person":    "Nobody has that e-mail address or key.",
	"page.accounts.problem.person_id": "Say whose visits they work on.",

	"page.me.title": "My account", "page.me.language": "Language", "page.me.password": "Change my password", "page.me.present": "Present password",
	"page.me.password.text": "Other devices are signed out.", "page.me.wrong": "That is not your present password.", "page.me.wait": "Too many tries. Wait a while, then try again.",
	"page.me.none":         "You came in without an account of your own, so there is nothing to change here.",
	"page.me.done.changed": "It is changed.", "page.me.done.password": "Your password is changed, and your other devices are signed out.",

	"page.tokens.title": "Tokens for programs", "page.tokens.text": "A program sends its token as \"Authorization: Bearer ...\" to the addresses below /api/. Give each program one of its own.",
	"page.tokens.new": "A new token", "page.tokens.make": "Make the token", "page.tokens.list": "Tokens in use", "page.tokens.none": "There is none.", "page.tokens.ended": "Revoked tokens",
	"page.tokens.field.name": "Which program", "page.tokens.field.name.hint": "Written beside what it does.", "page.tokens.field.scope": "What it may do",
	"page.tokens.may.read": "look at what is due and at runs", "page.tokens.may.record": "look, and write down findings with photos", "page.tokens.may.all": "all that the office may do",
	"page.tokens.created": "Made {when}.", "page.tokens.used": "Last used {when}.", "page.tokens.never": "Never used.", "page.tokens.revoked": "Revoked {when}.",
	"page.tokens.made": "The token of", "page.tokens.secret": "Token", "page.tokens.once": "It is shown now only: only a hash of it is kept.",
	"page.tokens.gone":   "The token was shown already and cannot be shown again. If it is lost, revoke it and make another.",
	"page.tokens.revoke": "Revoke", "page.tokens.revoke.text": "The program is shut out at once.",
	"page.tokens.problem": "Say which program it is for, and what it may do.",

	"page.error.role": "Not for your account", "page.error.role.text": "Your account may not see or do this. Ask whoever owns this installation.",
	"page.error.scope": "Not for this token", "page.error.scope.text": "The token may not do this. Make one with a wider scope on the page of tokens.",
	"page.error.duty": "Not on your list", "page.error.duty.text": "You can open the vents of buildings that you have a visit at: from the day before it to a week after. Ask the office to put the visit on your list.",
	"page.error.owner": "The last owner stays", "page.error.owner.text": "This is the only owner's account. Make another owner first.",
}
