package wording

import "maps"

// The texts of the pages about a day, a month, a building and a customer are a part of their own.
func init() { maps.Copy(english, englishRooms) }

var englishRooms = map[string]string{
	"page.nav.today": "Today", "page.nav.due": "Due", "page.nav.month": "Month", "page.nav.find": "Find", "page.nav.labels": "Labels", "page.nav.settings": "Settings", "page.nav.more": "More",

	"page.today.title": "Today", "page.today.calm": "Nothing is overdue, nothing is stopped, and every letter of the last weeks arrived.",
	"page.today.overdue.one": "1 job is overdue", "page.today.overdue": "{n} jobs are overdue", "page.today.soon.one": "In the next 30 days: 1 job", "page.today.soon": "In the next 30 days: {n} jobs",
	"page.today.unbooked.one": "1 job has no visit yet", "page.today.unbooked": "{n} jobs have no visit yet", "page.today.later.one": "1 job comes later", "page.today.later": "{n} jobs come later",
	"page.today.mail.one": "1 message did not arrive", "page.today.mail": "{n} messages did not arrive", "page.today.all": "All of them", "page.today.notices": "What was sent, and what was not",
	"page.today.visits": "Next visits", "page.today.no_visits": "No visit is booked in the next two weeks.",
	"page.visit.doors.one": "1 door", "page.visit.doors": "{n} doors", "page.visit.nobody": "nobody named yet",
	"page.ownday.title": "My visits", "page.ownday.none": "No visit is booked for you in the next two weeks.",

	"page.find.title": "Find", "page.find.label": "A name, address, key, telephone or serial number, or a part of one", "page.find.found.one": "1 fits", "page.find.found": "{n} fit",
	"page.find.customer": "Customer", "page.find.site": "Building", "page.find.run": "Vent run", "page.find.person": "Person",

	"page.month.title": "Months", "page.month.prev": "Month before", "page.month.next": "Month after", "page.month.now": "This month", "page.month.more": "and {n} more",

	"page.site.doors": "Behind its doors", "page.site.dues": "What is due here", "page.site.faults.one": "1 open fault", "page.site.faults": "{n} open faults", "page.site.floor": "Floor {floor}", "page.site.no_visits": "No visit is booked.",
	"page.customer.sites": "Buildings", "page.customer.no_sites": "No building belongs to this customer.", "page.customer.people": "Whom to tell", "page.customer.untold": "gets no mail:",
	"page.customer.runs.one": "1 vent run", "page.customer.runs": "{n} vent runs", "page.customer.dues.one": "1 job open", "page.customer.dues": "{n} jobs open", "page.customer.ended": "No longer looked after since {date}.",
	"page.customer.approvals": "What was approved", "page.customer.accepted": "{what}: yes, said {who} on {date}", "page.customer.declined": "{what}: no, said {who} on {date}",

	"page.settings.title": "Settings", "page.settings.who": "Who you are", "page.settings.kept": "It is kept.", "page.settings.problem": "Nothing was changed: something in the form needs a second look.",
	"page.settings.more": "Also here", "page.settings.file": "What the settings file says", "page.settings.file.text": "These cannot be changed from a page. The file:", "page.settings.file.none": "there is none, so all are as they come.", "page.settings.show": "Show all of them",
	"page.erase.title": "Forget a person", "page.erase.text": "Takes a person's name, addresses and messages out of everything that is kept. What was done to vents stays, without the name. It cannot be taken back, and does not reach:",
	"page.erase.who": "Whom", "page.erase.who.hint": "An e-mail address, or a key of yours.", "page.erase.yes": "I am sure: it cannot be taken back", "page.erase.go": "Forget them", "page.erase.sure": "Say whom, and that you are sure.", "page.erase.nobody": "Nobody has that address or key.",
	"page.erase.done.one": "1 person is forgotten.", "page.erase.done": "{n} people are forgotten.",
	"page.erase.keeps.places": "addresses and names of buildings and doors, notes, and messages to others that name them", "page.erase.keeps.backups": "backups and exports made before, until you remove them",
	"page.erase.keeps.space": "the data file's free space, until it is used again", "page.erase.keeps.sheet": "the sheet the person came from: bringing it in again brings them back",

	"page.route.picture": "The way of the air, not to scale", "page.route.picture.told": "From the dryer: {parts}.",
}
