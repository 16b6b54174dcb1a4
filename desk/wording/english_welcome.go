package wording

import "maps"

// The texts of the first days are a part of their own.
func init() { maps.Copy(english, englishWelcome) }

var englishWelcome = map[string]string{
	"page.nav.import": "Import",

	"page.welcome.title": "Set up Ventdue", "page.welcome.text": "Say once who you are. All of it can be changed later, under Settings.",
	"page.welcome.kind": "What do you look after?", "page.welcome.kind.household": "one household: our own dryer", "page.welcome.kind.buildings": "buildings: dryers behind many doors",
	"page.welcome.kind.customers": "customers: dryers of other people, as a service",
	"page.welcome.name":           "Your name, or that of your firm", "page.welcome.name.hint": "People read it in reminders and calendars.",
	"page.welcome.zone": "Time zone", "page.welcome.zone.hint": "The city whose clock you go by.",
	"page.welcome.units": "Units", "page.welcome.units.us": "feet, inches, ft/min, in w.c.", "page.welcome.units.si": "metres, millimetres, m/s, Pa",
	"page.welcome.email": "E-mail (may stay empty)", "page.welcome.email.hint": "Where it is reported that something failed.",
	"page.welcome.phone": "Telephone (may stay empty)", "page.welcome.phone.hint": "Stands in reminders: whom to call.",
	"page.welcome.lock": "Who may come in", "page.welcome.owner": "Your name to sign in with", "page.welcome.owner.hint": "Left empty, it is the name above.",
	"page.welcome.password.open": "On this machine alone it may stay empty: then everybody who sits at it may come in.",
	"page.welcome.go":            "Set it up", "page.welcome.code": "Set-up code", "page.welcome.code.hint": "26 letters and digits.",
	"page.welcome.code.text":  "This installation is new. The program printed a set-up code where it was started; whoever has it sets the installation up.",
	"page.welcome.code.wrong": "That is not the code.", "page.welcome.code.go": "Go on",
	"page.welcome.problem.kind": "Choose one.", "page.welcome.problem.name": "The name is missing, or has over 200 letters: at most 200 are kept.", "page.welcome.problem.zone": "Choose a time zone.", "page.welcome.problem.units": "Choose the units.",
	"page.welcome.problem.email": "That is not an e-mail address.", "page.welcome.problem.phone": "That cannot be read.", "page.welcome.problem.language": "Choose a language.",
	"page.welcome.problem.password": "The password will not do: take at least {least} characters, at most 72 bytes, and not the name.",

	"page.home.title": "Six questions about your dryer", "page.home.text": "What you do not know may stay empty. Each answer sharpens the date; all can be changed later.",
	"page.home.q1": "1. Who looks after it, and where is it?", "page.home.q2": "2. What heats the dryer?", "page.home.q3": "3. How does the duct run?",
	"page.home.q4": "4. Where does it end?", "page.home.q5": "5. How much is it used?", "page.home.q6": "6. When was the duct last cleaned?",
	"page.home.name": "Name", "page.home.name.problem": "The name cannot be read.", "page.home.email": "E-mail for reminders", "page.home.email.problem": "That is not an e-mail address.", "page.home.email.hint": "Left empty, nothing is sent; the calendar tells all the same.",
	"page.home.address": "Address, or the place as you call it", "page.home.address.problem": "Say where it is, if only \"home\".",
	"page.home.fuel": "Heat", "page.home.fuel.problem": "Choose one: it decides how careful the dates are.", "page.home.fuel.electric": "electricity", "page.home.fuel.gas": "gas", "page.home.fuel.ventless": "no duct at all: a condenser or heat pump dryer",
	"page.home.length": "Length of the duct", "page.home.length.hint": "From the wall behind the dryer to the outlet, in {unit}. A guess will do.", "page.home.length.problem": "Give a length, as in 12 ft or 3.5 m.", "page.home.feet": "feet", "page.home.metres": "metres",
	"page.home.elbows": "Bends of 90 degrees", "page.home.elbows.problem": "Give a number from 0 to 50.", "page.home.material": "What it is made of", "page.home.material.problem": "Choose one.",
	"page.home.outlet": "Outlet", "page.home.outlet.flap": "outside wall, one flap", "page.home.outlet.louvers": "outside wall, several louvers", "page.home.outlet.roof": "on the roof", "page.home.outlet.eave": "under the eave",
	"page.home.outlet.room": "in the room or the garage", "page.home.outlet.attic": "in the attic", "page.home.outlet.unknown": "I do not know",
	"page.home.loads": "Loads a week", "page.home.loads.hint": "Left empty, it is reckoned with the usual: 283 a year.", "page.home.loads.problem": "Give a number of loads, as in 4.",
	"page.home.cleaned": "Day of the last cleaning", "page.home.cleaned.hint": "The duct itself, not the lint screen. Left empty: nobody knows.", "page.home.cleaned.problem": "Give a day up to today.",
	"page.home.go": "Show me the date", "page.home.done": "That is it", "page.home.dates": "What comes", "page.home.see": "See the vent and why",
	"page.home.once":     "It is shown for ten minutes and kept nowhere. If it gets lost, make a new one under Calendars.",
	"page.home.calendar": "Put it into your calendar", "page.home.feed": "our dryer", "page.home.feeds": "Make a calendar address",
	"page.home.mail": "Reminders go to", "page.home.nomail": "No e-mail address is known, so nobody is reminded by mail.",
	"page.home.ventless": "A dryer without a duct has no vent to keep open, so no cleaning is due. Its second filter, coil and drain need looking after as the maker says.",

	"page.import.title": "Bring in what you look after", "page.import.text": "One row for each vent run, with its building, door, customer, dryer and last cleaning. Nothing is stored before you have seen what was read.",
	"page.import.choose": "Drop a file here, or choose one", "page.import.choose.hint": "csv or xlsx, up to 32 MB. A larger one, and an export, come in by command: ventdue import FILE", "page.import.units": "Units of plain numbers", "page.import.check.go": "Check it",
	"page.import.nothing": "Choose a file first.", "page.import.columns": "The columns", "page.import.columns.text": "The first row names the columns, in any order. Two of them are enough: address and fuel; customers are named by customer_name.",
	"page.import.column": "Column", "page.import.meaning": "What it holds", "page.import.example": "Example", "page.import.row": "Row", "page.import.value": "Cell", "page.import.why": "What is wrong",
	"page.import.check": "What the check found", "page.import.taken": "It is taken", "page.import.taken.text": "{rows} rows are stored, {dues} dates opened. People who are written to now: {told}.",
	"page.import.good": "All {rows} rows can be taken.", "page.import.bad": "{bad} of {rows} rows cannot be taken as they are; problems: {problems}. Nothing is stored yet.",
	"page.import.empty": "It says nothing that is not stored already.", "page.import.mended": "Cells put right here so far: {n}.", "page.import.more": "Problems that are not listed yet: {n}. They come up once these are put right.",
	"page.import.tally":         "{what}: {new} new, {changed} changed, {same} as they were",
	"page.import.kind.customer": "Customers", "page.import.kind.person": "People", "page.import.kind.site": "Buildings", "page.import.kind.unit": "Doors", "page.import.kind.appliance": "Dryers", "page.import.kind.run": "Vent runs", "page.import.kind.finding": "Earlier cleanings",
	"page.import.mend": "Put it right here", "page.import.mend.text": "Change the cells and check again. The file on your machine stays as it is.", "page.import.file": "file", "page.import.at": "Row {row}", "page.import.cell": "Row {row}, {column}",
	"page.import.ignore": "Pass over columns that are not known", "page.import.again": "Check again", "page.import.take": "Take all rows", "page.import.take.good": "Take the good rows only", "page.import.drop": "Forget this file",
	"page.import.see": "See what is due", "page.import.feed": "Make a calendar address", "page.import.another": "Bring in another file",

	"page.error.founded": "Set up already", "page.error.founded.text": "Somebody has set this installation up. Sign in, or open the first page.",
	"page.error.upload": "The file is no longer here", "page.error.upload.text": "A file waits for an hour. If it was taken, it is stored; otherwise bring it again.",
}
