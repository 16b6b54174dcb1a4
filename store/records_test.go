package store

import (
	"errors"
	"testing"
	"time"

	"ventdue/vent"
	"ventdue/vent/airflow"
)

// records are one invented record of every kind, with every sort of field filled; testdata/layout1.db holds them. A
// file that was written once is never written again, so what is here must not change: a field that comes later
// is zero in these.
func records() []any {
	lat, lon := 40.25, -75.5
	day, at := vent.NewDate(2026, 3, 31), vent.InstantOf(t0)
	due := clean(id(60), day)
	due.Reason = vent.Reason{Bound: vent.BoundLook, Limit: vent.LimitFlow, Risk: 0.1, Chance: 0.04, Since: day.AddDays(-200),
		LoadsPerWeek: 5.44, LoadsFrom: vent.UseTold, GrowthPer100: 0.012, GrowthDoubt: 1.8, Months: 12, Source: "lease"}
	return []any{
		vent.Operator{Kind: vent.Customers, Name: "Lund Dry Care", Zone: "America/New_York", Units: vent.US, Email: "office@example.com", Phone: "555-0100"},
		vent.Person{ID: id(1), Ref: "P-1", Name: "Ida Lund", Email: "ida@example.com", Phone: "555-0142", Language: "en", Zone: "America/New_York",
			Role: vent.Technician, Channels: []vent.Channel{vent.ByMail}, Skills: []string{"gas"},
			Consents: []vent.Consent{{Purpose: "all", Given: true, At: at, How: "told the office"}}},
		vent.Customer{ID: id(10), Ref: "C-1", Name: "Elm Court Homes", Persons: []vent.ID{id(1)}, Units: vent.SI, Note: "pays by the building",
			Approvals: []vent.Approval{{On: day, What: "rigid duct", Cents: 12550, Currency: "USD", Accepted: true, By: "Ida Lund"}}},
		vent.Site{ID: id(20), Ref: "S-1", CustomerID: id(10), Name: "Elm Court", Address: "1 Elm Court, Exampleton", Zone: "America/New_York",
			Lat: &lat, Lon: &lon, Access: vent.Access{Note: "ring twice", Dog: true, Codes: "0000"}, NoticeDays: 2},
		vent.Unit{ID: id(25), Ref: "U-1", SiteID: id(20), Kind: vent.Flat, Name: "3B", Floor: "3", Bedrooms: 2, People: 3, Pets: true, WasherVolume: 0.1,
			Occupancies: []vent.Occupancy{{PersonID: id(1), From: day}}},
		vent.Appliance{ID: id(27), Ref: "A-1", UnitID: id(25), Kind: vent.Dryer, Fuel: vent.Gas, Class: airflow.FullSize, Serial: "12345", Installed: day,
			MaxStatic: 149.5, FuseStops: vent.StopsMotor, HasCO: true},
		vent.Run{ID: id(30), Ref: "R-1", SiteID: id(20), UnitID: id(25), Name: "3B", Shape: vent.Single, Known: day,
			Versions: []vent.Version{{From: day, DryerID: id(27), Measured: true, RoofOutlet: true}},
			Use:      []vent.Use{{From: day, LoadsPerWeek: 5.44, Source: vent.UseTold}}, Ceilings: []vent.Ceiling{{Months: 12, Source: "lease"}}},
		vent.Finding{ID: id(60), RunID: id(30), Date: day, Source: "visit", By: vent.Doer{Kind: vent.ByUs, Name: "Ida Lund", PersonID: id(1)},
			Outcome: vent.Full, Reach: vent.ReachThrough, LintBefore: vent.Fuzz, LintAfter: vent.Bare, Recorded: at, Recorder: "office",
			Before: []vent.Reading{{Quantity: vent.AirSpeed, Value: 5.08, Given: "1000 fpm", Conditions: []vent.Condition{vent.EmptyDrum}}},
			Parts:  []vent.PartCheck{{Part: "thermal_fuse", Result: "good"}}, Photos: []vent.Photo{{SHA256: "00ff", Name: "hood.jpg", Type: "image/jpeg", Bytes: 1000}}},
		vent.Sign{ID: id(65), RunID: id(30), At: at, On: day, Kind: vent.TwoCycles, By: "Ida Lund", Note: "<towels> & sheets", Answered: id(60)},
		vent.Fault{ID: id(66), Subject: elmCourt.Subject, Rule: "foil_transition", Severity: vent.Fix, Found: day, FindingID: id(60), Deadline: day.AddDays(30),
			State: vent.FaultOpen, Told: []vent.Call{{At: at, Who: "Ida Lund", How: "telephone", Ackd: true}}},
		vent.Check{ID: id(67), Subject: elmCourt.Subject, Rule: "outlet_flap", Months: 3, Anchor: day, LastDone: day},
		vent.Due{ID: id(70), Subject: elmCourt.Subject, SiteID: id(20), CustomerID: id(10), Wanted: due, State: vent.DueOpen, UID: id(71).String(),
			Sequence: 3, Created: at, Modified: at + 9, ToldDay: day, Arm: 1},
		vent.Visit{ID: id(80), SiteID: id(20), TechnicianID: id(1), On: day, Start: 540, Minutes: 90, Zone: "America/New_York", State: vent.Booked,
			UID: id(81).String(), Sequence: 1, Created: at, Modified: at},
		vent.Appointment{ID: id(82), VisitID: id(80), CustomerID: id(10), UnitID: id(25), Dues: []vent.ID{id(70)}, Start: 540, Minutes: 45,
			State: vent.Booked, UID: id(83).String(), Created: at, Modified: at},
		vent.Notice{ID: id(90), Key: vent.NoticeKey{PersonID: id(1), Thing: vent.Subject{Kind: vent.KindDue, ID: id(70)}, Opener: id(60), Arm: 1, Step: "30", Channel: vent.ByMail},
			Kind: vent.NoticeRunDue, State: vent.NoticeSent, Created: at, MessageID: id(91), Settled: at, Day: day},
		vent.Message{ID: id(91), PersonID: id(1), On: day, Channel: vent.ByMail, Class: "reminder", To: "ida@example.com", Notices: []vent.ID{id(90)},
			State: vent.MessageClaimed, Created: at, NotFor: at, First: at, Last: at, Attempts: 1, MailID: "m1@example.com", Raw: []byte("Subject: due\r\n\r\n"), Expires: at + 432000},
		vent.Feed{ID: id(95), TokenHash: []byte("0123456789abcdef0123456789abcdef"), Scope: vent.Scope{Kind: vent.KindSite, ID: id(20)}, PersonID: id(1),
			Name: "Elm Court", Created: at, Fetched: at, FetchedBy: "a calendar", Alarms: true},
		vent.Account{ID: id(97), Name: "Ida", Role: vent.Technician, Password: "$2a$10$xyz", PersonID: id(1), Language: "es", Created: at, Epoch: at, Seen: at + 5},
		vent.Token{ID: id(98), Hash: []byte("fedcba9876543210fedcba9876543210"), Name: "till", Scope: vent.TokenRead, Created: at, Revoked: at + 9, Used: at + 5},
	}
}

// firstRecords are those of the kinds there were when the old data files of the tests were written.
func firstRecords() []any { return records()[:17] }

// putAll stores records of any kind.
func putAll(tx *Tx, all []any) error {
	var errs []error
	for _, r := range all {
		var err error
		switch x := r.(type) {
		case vent.Operator:
			err = Operators.Put(tx, x, "made")
		case vent.Person:
			err = Persons.Put(tx, x, "made")
		case vent.Customer:
			err = Customers.Put(tx, x, "made")
		case vent.Site:
			err = Sites.Put(tx, x, "made")
		case vent.Unit:
			err = Units.Put(tx, x, "made")
		case vent.Appliance:
			err = Appliances.Put(tx, x, "made")
		case vent.Run:
			err = Runs.Put(tx, x, "made")
		case vent.Finding:
			err = Findings.Put(tx, x, "made")
		case vent.Sign:
			err = Signs.Put(tx, x, "made")
		case vent.Fault:
			err = Faults.Put(tx, x, "made")
		case vent.Check:
			err = Checks.Put(tx, x, "made")
		case vent.Due:
			err = Dues.Put(tx, x, "made")
		case vent.Visit:
			err = Visits.Put(tx, x, "made")
		case vent.Appointment:
			err = Appointments.Put(tx, x, "made")
		case vent.Notice:
			err = Notices.Put(tx, x, "made")
		case vent.Message:
			err = Messages.Put(tx, x, "made")
		case vent.Feed:
			err = Feeds.Put(tx, x, "made")
		case vent.Account:
			err = Accounts.Put(tx, x, "made")
		case vent.Token:
			err = Tokens.Put(tx, x, "made")
		}
		errs = append(errs, err)
	}
	return errors.Join(errs...)
}

// getAll reads every record of a store, in the order of an export.
func getAll(t testing.TB, s *Store) (all []any) {
	t.Helper()
	view(t, s, func(tx *Tx) error {
		all = nil
		return errors.Join(
			each(tx, Operators, &all), each(tx, Persons, &all), each(tx, Customers, &all), each(tx, Sites, &all), each(tx, Units, &all),
			each(tx, Appliances, &all), each(tx, Runs, &all), each(tx, Findings, &all), each(tx, Signs, &all), each(tx, Faults, &all),
			each(tx, Checks, &all), each(tx, Dues, &all), each(tx, Visits, &all), each(tx, Appointments, &all), each(tx, Notices, &all),
			each(tx, Messages, &all), each(tx, Feeds, &all), each(tx, Accounts, &all), each(tx, Tokens, &all))
	})
	return all
}

func each[T any](tx *Tx, t *Table[T], all *[]any) error {
	for v, err := range t.All(tx) {
		if err != nil {
			return err
		}
		*all = append(*all, v)
	}
	return nil
}

// sample stores the records, with a change in the trail and what belongs to the installation alone.
func sample(t testing.TB, s *Store) {
	t.Helper()
	update(t, s, 0, func(tx *Tx) error {
		return errors.Join(putAll(tx, records()), tx.SetWake(WakeTell, id(1), tx.Now()+5), tx.BumpPlace(id(20), id(10)),
			tx.SetHorizon(vent.NewDate(2026, 11, 25)), tx.SetSecret([]byte("of this installation")), tx.Replan(id(30), "policy"))
	})
	update(t, s, time.Hour, func(tx *Tx) error {
		p := records()[1].(vent.Person)
		p.Name = "Ida Holm"
		if err := Persons.Put(tx, p, "name"); err != nil {
			return err
		}
		p.Name = "Ida Lund"
		return Persons.Put(tx, p, "name, back")
	})
}

func TestEveryKindIsKept(t *testing.T) {
	s := opened(t)
	sample(t, s)
	equal(t, "records", getAll(t, s), records())
	if len(records()) != len(tables()) {
		t.Errorf("%d sample records of %d kinds", len(records()), len(tables()))
	}
}
