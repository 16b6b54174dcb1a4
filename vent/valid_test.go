package vent

import (
	"math"
	"strings"
	"testing"

	"ventdue/vent/airflow"
)

var (
	someID = ID{1}
	day1   = NewDate(2026, 3, 31)
)

// wrong is a record with one thing wrong, and the field that must be named.
type wrong struct {
	field string
	p     Problems
}

func mended[T interface{ Valid() Problems }](good T, spoil func(*T)) Problems {
	spoil(&good)
	return good.Valid()
}

func TestEachProblemNamesItsField(t *testing.T) {
	operator := Operator{Kind: Customers, Name: "Lund Dry Care", Zone: "America/New_York", Units: US}
	person := Person{ID: someID, Name: "Ida Lund"}
	customer := Customer{ID: someID, Name: "Elm Court Homes"}
	site := Site{ID: someID, Name: "Elm Court", Zone: "America/New_York"}
	unit := Unit{ID: someID, Name: "3B", Kind: Flat}
	dryer := Appliance{ID: someID, Kind: Dryer, Fuel: Gas}
	run := Run{ID: someID, Name: "3B", Shape: Single, Known: day1, Versions: []Version{{}}}
	sign := Sign{ID: someID, Kind: TwoCycles, On: day1}
	fault := Fault{ID: someID, Rule: "foil_transition", Severity: Fix, State: FaultOpen, Found: day1}
	check := Check{ID: someID, Rule: "outlet_flap", Months: 3, Anchor: day1}
	due := Due{ID: someID, Wanted: Wanted{Kind: DueClean, Day: day1}, State: DueOpen, UID: "u1"}
	visit := Visit{ID: someID, On: day1, Start: 540, Minutes: 60, Zone: "America/New_York", State: Booked, UID: "u2"}
	appointment := Appointment{ID: someID, Start: 540, Minutes: 60, State: Booked, UID: "u3"}
	notice := Notice{ID: someID, Key: NoticeKey{PersonID: someID, Thing: Subject{KindDue, someID}, Step: "30", Channel: ByMail}, Kind: NoticeRunDue, State: NoticeWanted}
	message := Message{ID: someID, PersonID: someID, On: day1, Channel: ByMail, Class: "reminder", To: "ida@example.com", State: MessagePending}
	feed := Feed{ID: someID, Scope: OperatorScope, Name: "all"}
	account := Account{ID: someID, Name: "Ida", Role: Technician, Password: "$2a$10$xyz", PersonID: someID}
	token := Token{ID: someID, Name: "till", Scope: TokenRead}
	reading := Reading{Quantity: AirSpeed, Value: 5}

	for name, p := range map[string]Problems{
		"operator": operator.Valid(), "person": person.Valid(), "customer": customer.Valid(), "site": site.Valid(), "unit": unit.Valid(),
		"dryer": dryer.Valid(), "run": run.Valid(), "sign": sign.Valid(), "fault": fault.Valid(), "check": check.Valid(), "due": due.Valid(),
		"visit": visit.Valid(), "appointment": appointment.Valid(), "notice": notice.Valid(), "message": message.Valid(), "feed": feed.Valid(),
		"reading": reading.Valid(), "account": account.Valid(), "token": token.Valid(),
	} {
		if p.Err() != nil {
			t.Errorf("a good %s: %v", name, p)
		}
	}

	long, binary := strings.Repeat("x", maxText+1), "caf\xe9"
	north, east := 91.0, 10.0
	for _, w := range []wrong{
		{"name", mended(account, func(x *Account) { x.Name = " " })},
		{"name", mended(account, func(x *Account) { x.Name = strings.Repeat("x", MaxAccountName+1) })},
		{"role", mended(account, func(x *Account) { x.Role = NoRole })},
		{"role", mended(account, func(x *Account) { x.Role = "boss" })},
		{"password_hash", mended(account, func(x *Account) { x.Password = "" })},
		{"person_id", mended(account, func(x *Account) { x.PersonID = ID{} })},
		{"name", mended(token, func(x *Token) { x.Name = "" })},
		{"scope", mended(token, func(x *Token) { x.Scope = "erase" })},
		{"kind", mended(operator, func(x *Operator) { x.Kind = "shop" })},
		{"units", mended(operator, func(x *Operator) { x.Units = "" })},
		{"name", mended(operator, func(x *Operator) { x.Name = " \t" })},
		{"zone", mended(operator, func(x *Operator) { x.Zone = "" })},
		{"zone", mended(operator, func(x *Operator) { x.Zone = "Local" })},
		{"zone", mended(operator, func(x *Operator) { x.Zone = "../../etc/passwd" })},
		{"email", mended(operator, func(x *Operator) { x.Email = "office" })},
		{"phone", mended(operator, func(x *Operator) { x.Phone = long })},

		{"name", mended(person, func(x *Person) { x.Name = "" })},
		{"name", mended(person, func(x *Person) { x.Name = binary })},
		{"ref", mended(person, func(x *Person) { x.Ref = long })},
		{"phone", mended(person, func(x *Person) { x.Phone = binary })},
		{"email", mended(person, func(x *Person) { x.Email = "Ida <ida@example.com>" })},
		{"email", mended(person, func(x *Person) { x.Email = "ida@example.com\r\nBcc: all@example.com" })},
		{"zone", mended(person, func(x *Person) { x.Zone = "Mars/Base" })},
		{"role", mended(person, func(x *Person) { x.Role = "boss" })},
		{"channels", mended(person, func(x *Person) { x.Channels = []Channel{"pigeon"} })},
		{"skills", mended(person, func(x *Person) { x.Skills = []string{long} })},

		{"name", mended(customer, func(x *Customer) { x.Name = "" })},
		{"units", mended(customer, func(x *Customer) { x.Units = "cubits" })},
		{"ended", mended(customer, func(x *Customer) { x.Ended = NewDate(1066, 10, 14) })},

		{"zone", mended(site, func(x *Site) { x.Zone = "" })},
		{"address", mended(site, func(x *Site) { x.Address = long })},
		{"access", mended(site, func(x *Site) { x.Access.Codes = binary })},
		{"notice_days", mended(site, func(x *Site) { x.NoticeDays = -1 })},
		{"lat", mended(site, func(x *Site) { x.Lat = &north })},
		{"lat", mended(site, func(x *Site) { x.Lat, x.Lon = &north, &east })},

		{"kind", mended(unit, func(x *Unit) { x.Kind = "castle" })},
		{"bedrooms", mended(unit, func(x *Unit) { x.Bedrooms = -2 })},
		{"washer_m3", mended(unit, func(x *Unit) { x.WasherVolume = math.NaN() })},
		{"occupancies.from", mended(unit, func(x *Unit) { x.Occupancies = []Occupancy{{}} })},
		{"occupancies.to", mended(unit, func(x *Unit) { x.Occupancies = []Occupancy{{From: day1, To: day1 - 1}} })},

		{"kind", mended(dryer, func(x *Appliance) { x.Kind = "toaster" })},
		{"fuel", mended(dryer, func(x *Appliance) { x.Fuel = "" })},
		{"class", mended(dryer, func(x *Appliance) { x.Class = "giant" })},
		{"serial", mended(dryer, func(x *Appliance) { x.Serial = long })},
		{"installed", mended(dryer, func(x *Appliance) { x.Made, x.Installed = day1, day1-1 })},
		{"max_static_pa", mended(dryer, func(x *Appliance) { x.MaxStatic = -1 })},
		{"volts", mended(dryer, func(x *Appliance) { x.Volts = math.Inf(1) })},
		{"blower", mended(dryer, func(x *Appliance) { x.Blower = &airflow.Blower{FreeAir: -1} })},

		{"known", mended(run, func(x *Run) { x.Known = 0 })},
		{"shape", mended(run, func(x *Run) { x.Shape = "loop" })},
		{"parent_id", mended(run, func(x *Run) { x.Shape = Branch })},
		{"versions", mended(run, func(x *Run) { x.Versions = nil })},
		{"versions.from", mended(run, func(x *Run) { x.Versions = []Version{{From: day1}, {From: day1}} })},
		{"versions.route", mended(run, func(x *Run) {
			x.Versions = []Version{{Route: &airflow.Duct{Sections: []airflow.Section{{Length: -1}}}}}
		})},
		{"use.loads_per_week", mended(run, func(x *Run) { x.Use = []Use{{LoadsPerWeek: -1, Source: UseTold}} })},
		{"use.source", mended(run, func(x *Run) { x.Use = []Use{{Source: "guess"}} })},
		{"use.from", mended(run, func(x *Run) { x.Use = []Use{{From: day1, Source: UseTold}, {From: day1 - 1, Source: UseTold}} })},
		{"ceilings.months", mended(run, func(x *Run) { x.Ceilings = []Ceiling{{Source: "lease"}} })},
		{"ceilings.source", mended(run, func(x *Run) { x.Ceilings = []Ceiling{{Months: 12}} })},

		{"kind", mended(sign, func(x *Sign) { x.Kind = "odd noise" })},
		{"on", mended(sign, func(x *Sign) { x.On = 0 })},
		{"rule", mended(fault, func(x *Fault) { x.Rule = "" })},
		{"severity", mended(fault, func(x *Fault) { x.Severity = "" })},
		{"closed_by", mended(fault, func(x *Fault) { x.State, x.Closed = FaultFixed, day1 })},
		{"closed", mended(fault, func(x *Fault) { x.State, x.ClosedBy = FaultFixed, "Ida Lund" })},
		{"until", mended(fault, func(x *Fault) { x.State, x.Closed, x.ClosedBy, x.Why = FaultWaived, day1, "Ida Lund", "sold" })},
		{"why", mended(fault, func(x *Fault) { x.State, x.Closed, x.ClosedBy, x.Until = FaultWaived, day1, "Ida Lund", day1 })},
		{"released_as", mended(fault, func(x *Fault) { x.Severity, x.State, x.Closed, x.ClosedBy = Stop, FaultFixed, day1, "Ida Lund" })},
		{"state", mended(fault, func(x *Fault) {
			x.Severity, x.State, x.Closed, x.ClosedBy, x.Why, x.Until = Stop, FaultWaived, day1, "Ida Lund", "later", day1+9
		})},
		{"told.role", mended(fault, func(x *Fault) { x.Told = []Call{{At: 1, Who: "Ida Lund", How: "telephone", Role: "cat"}} })},
		{"months", mended(check, func(x *Check) { x.Months = 0 })},
		{"anchor", mended(check, func(x *Check) { x.Anchor = 0 })},

		{"kind", mended(due, func(x *Due) { x.Kind = "party" })},
		{"day", mended(due, func(x *Due) { x.Day = 0 })},
		{"state", mended(due, func(x *Due) { x.State = "overdue" })},
		{"uid", mended(due, func(x *Due) { x.UID = "" })},
		{"uid", mended(due, func(x *Due) { x.UID = "a\r\nSUMMARY:b" })},
		{"sequence", mended(due, func(x *Due) { x.Sequence = -1 })},

		{"on", mended(visit, func(x *Visit) { x.On = 0 })},
		{"start_minutes", mended(visit, func(x *Visit) { x.Start = 24 * 60 })},
		{"minutes", mended(visit, func(x *Visit) { x.Minutes = 0 })},
		{"zone", mended(visit, func(x *Visit) { x.Zone = "" })},
		{"uid", mended(visit, func(x *Visit) { x.UID = "a\x00b" })},
		{"state", mended(appointment, func(x *Appointment) { x.State = "" })},
		{"uid", mended(appointment, func(x *Appointment) { x.UID = "" })},

		{"key", mended(notice, func(x *Notice) { x.Key.PersonID = ID{} })},
		{"key.step", mended(notice, func(x *Notice) { x.Key.Step = "" })},
		{"key.channel", mended(notice, func(x *Notice) { x.Key.Channel = "" })},
		{"state", mended(notice, func(x *Notice) { x.State = "read" })},
		{"person_id", mended(message, func(x *Message) { x.PersonID = ID{} })},
		{"to", mended(message, func(x *Message) { x.To = "ida@example.com\nBcc: x@example.com" })},
		{"state", mended(message, func(x *Message) { x.State = "read" })},
		{"scope", mended(feed, func(x *Feed) { x.Scope.Kind = KindRun })},

		{"quantity", mended(reading, func(x *Reading) { x.Quantity = "mood" })},
		{"air_speed", mended(reading, func(x *Reading) { x.Value = 1250 })}, // ft/min, not m/s
		{"air_speed", mended(reading, func(x *Reading) { x.Value = math.NaN() })},
		{"doubt", mended(reading, func(x *Reading) { x.Doubt = 2 })},
		{"conditions", mended(reading, func(x *Reading) { x.Conditions = []Condition{"rain"} })},
	} {
		if len(w.p) != 1 || w.p[0].Field != w.field {
			t.Errorf("want one problem with %s, got %v", w.field, w.p)
		}
	}
}

func TestFindingsAreChecked(t *testing.T) {
	good := Finding{ID: someID, Date: day1, Source: "visit", By: Doer{Kind: ByUs}, Outcome: Full, Reach: ReachThrough}
	if p := good.Valid(day1); p.Err() != nil {
		t.Errorf("a good finding: %v", p)
	}
	for _, c := range []struct {
		field string
		spoil func(*Finding)
	}{
		{"date", func(f *Finding) { f.Date = 0 }},
		{"date", func(f *Finding) { f.Date = day1 + 1 }},
		{"source", func(f *Finding) { f.Source = "" }},
		{"by", func(f *Finding) { f.By.Kind = "" }},
		{"outcome", func(f *Finding) { f.Outcome = "fine" }},
		{"reach", func(f *Finding) { f.Reach = ReachNone }},
		{"lint_before", func(f *Finding) { f.LintBefore = "lots" }},
		{"after", func(f *Finding) { f.Outcome, f.After = LookedOnly, []Reading{{Quantity: AirSpeed, Value: 5}} }},
		{"symptom", func(f *Finding) { f.Symptom = "sulks" }},
		{"before.flap", func(f *Finding) { f.Before = []Reading{{Quantity: Flap, Value: 3}} }},
	} {
		f := good
		c.spoil(&f)
		if p := f.Valid(day1); len(p) != 1 || p[0].Field != c.field {
			t.Errorf("want one problem with %s, got %v", c.field, p)
		}
	}
}

func TestWantsFollowsTheNewestWord(t *testing.T) {
	p := Person{Consents: []Consent{{Purpose: "run_due", Given: false, At: 10}, {Purpose: "all", Given: true, At: 5}}}
	if p.Wants("run_due") || !p.Wants("visit") {
		t.Error("an older yes to all overrules a newer no")
	}
	p.Consents = append(p.Consents, Consent{Purpose: "all", Given: true, At: 20})
	if !p.Wants("run_due") {
		t.Error("a newer yes to all does not count")
	}
	if !(Person{}).Wants("run_due") {
		t.Error("who said nothing is not told")
	}
}

func TestVersionAndOccupantOfADay(t *testing.T) {
	run := Run{Versions: []Version{{Why: "built"}, {From: day1, Why: "new dryer"}, {From: day1 + 100, Why: "new route"}}}
	for d, want := range map[Date]string{day1 - 1: "built", day1: "new dryer", day1 + 99: "new dryer", day1 + 100: "new route", 0: "built"} {
		if got := run.VersionOn(d).Why; got != want {
			t.Errorf("on %s: %s, want %s", d, got, want)
		}
	}
	if run.Current().Why != "new route" || (Run{}).Current().Why != "" || (Run{}).VersionOn(day1).Why != "" {
		t.Error("current version")
	}
	a, b := ID{1}, ID{2}
	unit := Unit{Occupancies: []Occupancy{{PersonID: a, From: day1, To: day1 + 10}, {From: day1 + 10, To: day1 + 20}, {PersonID: b, From: day1 + 20}}}
	for d, want := range map[Date]ID{day1 - 1: {}, day1: a, day1 + 9: a, day1 + 10: {}, day1 + 20: b, day1 + 9999: b} {
		if got := unit.OccupantOn(d); got != want {
			t.Errorf("on %s: %s, want %s", d, got, want)
		}
	}
}
