package desk

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"ventdue/store"
	"ventdue/vent"
	"ventdue/vent/rules"
)

// checkRig is an office with recurring checks.
type checkRig struct {
	*Desk
	t *testing.T
}

// gasHome is a house with a gas dryer whose people use dryer sheets, and one alarm of each kind.
const gasHome = `customer_name,contact_email,address,zone,unit_name,fuel,installed,dryer_sheets,smoke_alarm_made,co_alarm_made,last_cleaned
Ida Lund,ida.lund@example.com,9 Heron Lane,America/New_York,House,gas,2026-01-31,yes,2017-03-20,2022-09-01,2026-01-31
`

func newCheckRig(t *testing.T, kind vent.OperatorKind, csv string) checkRig {
	t.Helper()
	d := importDesk(t, kind)
	mustImport(t, d, 0, csv)
	return checkRig{d, t}
}

func (r checkRig) sheet(day string, n int) CheckSheet {
	r.t.Helper()
	s, err := r.CheckSheet(at(day), readAll(r.t, r.Desk).sites[n].ID)
	if err != nil {
		r.t.Fatal(err)
	}
	return s
}

// open gives the site's open dues of checks by their first rule; a second one of a rule is refused.
func (r checkRig) open(site vent.ID) map[string]vent.Due {
	r.t.Helper()
	out := map[string]vent.Due{}
	for _, x := range readAll(r.t, r.Desk).dues {
		if x.State != vent.DueOpen || x.Kind != vent.DueCheck || x.SiteID != site {
			continue
		}
		if x.Subject != (vent.Subject{Kind: vent.KindSite, ID: site}) {
			r.t.Errorf("a due of checks is about %s", x.Subject)
		}
		for out[x.Reason.Rule].UID != "" {
			x.Reason.Rule += "'"
		}
		out[x.Reason.Rule] = x
	}
	return out
}

// refs names the checks of a rule on a sheet.
func refs(s CheckSheet, rule string) (all []string) {
	for _, l := range s.Lines {
		for _, x := range l.Items {
			if x.Check.Rule == rule {
				all = append(all, x.Ref)
			}
		}
	}
	return all
}

func (r checkRig) do(day string, a CheckAct, refs ...string) CheckSheet {
	r.t.Helper()
	if a.Who == "" {
		a.Who = "Ida Lund"
	}
	s, err := r.ActOnChecks(at(day), refs, a)
	if err != nil {
		r.t.Fatalf("%s %s: %v", day, a.Do, err)
	}
	return s
}

func next(s CheckSheet, rule string) string {
	for _, l := range s.Lines {
		for _, x := range l.Items {
			if x.Check.Rule == rule {
				return x.Day.String()
			}
		}
	}
	return ""
}

// A household's year: five lines whatever is done, each reminder one mail a day at most, and a calendar of a handful.
func TestAHouseholdsYearOfChecks(t *testing.T) {
	r := newCheckRig(t, vent.Household, gasHome)
	site := readAll(t, r.Desk).sites[0].ID
	// Counted by hand from 31 January; what would be past by now, or was never dated, within a month of 2 March.
	for rule, want := range map[string]string{rules.CheckScreen: "2026-04-30", rules.CheckGas: "2027-01-31", rules.CheckCabinet: "2028-01-31",
		rules.CheckFlap: "2026-04-02", rules.CheckCOTest: "2026-04-02", rules.CheckSmokeTest: "2026-04-02", rules.CheckAlarmReplace: "2027-03-20"} {
		if got := next(r.sheet("2026-03-02", 0), rule); got != want {
			t.Errorf("%s: %s, want %s", rule, got, want)
		}
	}
	if n := len(r.open(site)); n > 9 {
		t.Errorf("%d entries in a calendar", n)
	}
	mails, told, events := map[string]int{}, 0, 0
	compose := func(m Reminder) (Letter, error) {
		for _, it := range m.Items {
			if it.Due.Kind == vent.DueCheck {
				told++
				mails[m.Today.String()]++
			}
		}
		return Letter{MailID: m.Message.ID.String(), Raw: []byte("x")}, nil
	}
	for d := theDay("2026-03-03"); d < theDay("2027-03-03"); d++ {
		by := at(d.String())
		if _, err := r.Tell(context.Background(), by); err != nil {
			t.Fatal(err)
		}
		letters := 0
		for {
			m, err := r.Claim(by, vent.ByMail, compose)
			if err != nil {
				t.Fatal(err)
			}
			if m == nil {
				break
			}
			letters++
			if err := r.Settle(by, m.ID, Accepted, "ok"); err != nil {
				t.Fatal(err)
			}
		}
		if letters > 1 {
			t.Errorf("%s: %d mails", d, letters)
		}
		s := r.sheet(d.String(), 0)
		if len(s.Lines) > 5 {
			t.Fatalf("%s: %d lines", d, len(s.Lines))
		}
		for _, l := range s.Lines {
			if l.Day != d {
				continue
			}
			events++
			var due []string
			for _, x := range l.Items[:l.Due] {
				if x.Check.Rule != rules.CheckAlarmReplace {
					due = append(due, x.Ref)
				}
			}
			r.do(d.String(), CheckAct{Do: CheckDone}, due...)
		}
	}
	// Alarms on 12 days (2 April to 2 March), flap and screen 4 times each at three months, the duct behind the dryer once, the
	// gas connection once and told 30 and 7 days before as well; the smoke alarm's replacement on 20 March told once by then,
	// 30 days before.
	if want := 12 + 4 + 4 + 1 + 3 + 1; told != want {
		t.Errorf("%d reminders of checks in a year, want %d: %v", told, want, mails)
	}
	if events != 12+4+4+1+1 {
		t.Errorf("%d errands", events)
	}
	if len(mails) > 20 {
		t.Errorf("reminders of checks on %d days", len(mails))
	}
}

// Three buildings, 84 flats: one walk for each building, one mail for all of it; a shut door stays due, under the same entry.
func TestALandlordsWalks(t *testing.T) {
	var csv strings.Builder
	csv.WriteString("customer_name,contact_email,site_name,zone,unit_name,fuel\n")
	for b := range 3 {
		for u := range 28 {
			fmt.Fprintf(&csv, "Hill Rentals,office@example.com,Block %c,America/New_York,%d,electric\n", 'A'+b, 101+u)
		}
	}
	r := newCheckRig(t, vent.Buildings, csv.String())
	all := readAll(t, r.Desk)
	total := 0
	for _, site := range all.sites {
		open := r.open(site.ID)
		total += len(open)
		screens := open[rules.CheckScreen]
		if len(open) != 3 || screens.Reason.Also != rules.CheckTransition || screens.Reason.Readings != 56 || open[rules.CheckFlap].Reason.Readings != 1 {
			t.Fatalf("%d dues: %+v", len(open), open)
		}
	}
	if total != 9 {
		t.Errorf("%d dues of checks for 84 flats", total)
	}
	if _, err := r.Tell(context.Background(), at("2026-04-02")); err != nil {
		t.Fatal(err)
	}
	walk := 0
	if _, err := r.Claim(at("2026-04-02"), vent.ByMail, func(m Reminder) (Letter, error) {
		for _, it := range m.Items {
			if it.Due.Kind == vent.DueCheck {
				walk++
			}
		}
		return Letter{MailID: "one", Raw: []byte("x")}, nil
	}); err != nil {
		t.Fatal(err)
	}
	if walk != 9 { // at the dryer, outside and when it is opened, of three buildings
		t.Errorf("one mail holds %d errands", walk)
	}
	site := all.sites[0]
	was := r.open(site.ID)[rules.CheckScreen]
	s := r.sheet("2026-04-02", 0)
	screens, ducts := refs(s, rules.CheckScreen), refs(s, rules.CheckTransition)
	s = r.do("2026-04-02", CheckAct{Do: CheckDone, Who: "Bo Hill"}, append(screens[:27:27], ducts...)...)
	now := r.open(site.ID)
	if d := now[rules.CheckScreen]; d.UID != was.UID || d.Sequence <= was.Sequence || d.Day != was.Day || d.Reason.Readings != 1 {
		t.Errorf("the shut door: %+v", d)
	}
	if d := now[rules.CheckScreen+"'"]; d.Day != theDay("2026-10-02") || d.Reason.Readings != 27 {
		t.Errorf("the others: %+v", d)
	}
	r.do("2026-04-09", CheckAct{Do: CheckDone, Who: "Bo Hill"}, screens[27])
	closed := 0
	for _, d := range readAll(t, r.Desk).dues {
		if d.UID == was.UID && d.State == vent.DueDone {
			closed++
		}
	}
	if now = r.open(site.ID); closed != 1 || now[rules.CheckScreen].Reason.Readings != 28 || now[rules.CheckScreen].Day != theDay("2026-10-02") {
		t.Errorf("%d closed, %+v", closed, now)
	}
	if len(s.Lines) > 5 {
		t.Errorf("%d lines", len(s.Lines))
	}
}

// A service business is asked for what takes a licence. The visit's close-out list settles it; a corrected visit gives it back
// under its old entry, and what the wrong visit had opened is withdrawn, not done.
func TestAGasCustomersConnection(t *testing.T) {
	r := newCheckRig(t, vent.Customers, gasHome)
	all := readAll(t, r.Desk)
	site, run := all.sites[0].ID, all.runs[0].ID
	open := r.open(site)
	gas := open[rules.CheckGas]
	if len(open) != 3 || gas.Day != theDay("2027-01-31") { // the connection, and two alarms to replace
		t.Fatalf("%+v", open)
	}
	if s := r.sheet("2026-03-02", 0); len(s.Left) != 6 {
		t.Errorf("%d checks are left to the customer", len(s.Left))
	}
	visit := vent.Finding{RunID: run, Date: theDay("2026-08-31"), Source: "visit", By: vent.Doer{Kind: vent.ByUs, Name: "Ines Moor"}, Outcome: vent.LookedOnly,
		CloseOut: []string{rules.CloseGasTest}}
	got, err := r.Record(at("2026-08-31"), visit)
	if err != nil {
		t.Fatal(err)
	}
	after := r.open(site)[rules.CheckGas]
	if after.Day != theDay("2027-08-31") || after.UID == gas.UID { // twelve months after it was done
		t.Errorf("%+v", after)
	}
	if d := r.due(gas.UID); d.State != vent.DueDone || d.ClosedBy != got.Finding.ID {
		t.Errorf("settled: %+v", d)
	}
	visit.CloseOut = nil
	if _, err := r.Correct(at("2026-09-01"), got.Finding.ID, visit); err != nil {
		t.Fatal(err)
	}
	if d := r.due(gas.UID); d.State != vent.DueOpen || d.Day != theDay("2027-01-31") || d.Sequence <= gas.Sequence {
		t.Errorf("given back: %+v", d)
	}
	if d := r.due(after.UID); d.State != vent.DueWithdrawn {
		t.Errorf("what the wrong visit opened: %+v", d)
	}
	s := r.sheet("2026-09-01", 0)
	for _, x := range s.Lines[0].Items {
		if x.Check.Rule == rules.CheckGas && (x.Check.LastDone != 0 || x.Check.DoneBy != "") {
			t.Errorf("wrongly done: %+v", x.Check)
		}
	}
}

func (r checkRig) due(uid string) vent.Due {
	r.t.Helper()
	for _, d := range readAll(r.t, r.Desk).dues {
		if d.UID == uid {
			return d
		}
	}
	r.t.Fatalf("no due %s", uid)
	return vent.Due{}
}

// What is left to a customer is turned on by hand, skipped, put off, set and turned off; each needs who and why, and refuses
// what cannot be with the field named.
func TestTheListIsEdited(t *testing.T) {
	r := newCheckRig(t, vent.Customers, gasHome)
	site := readAll(t, r.Desk).sites[0].ID
	s := r.sheet("2026-03-02", 0)
	left := map[string]string{}
	for _, x := range s.Left {
		left[x.Check.Rule] = x.Ref
	}
	s = r.do("2026-03-02", CheckAct{Do: CheckOn}, left[rules.CheckFlap])
	if next(s, rules.CheckFlap) != "2026-04-02" || r.open(site)[rules.CheckFlap].Day != theDay("2026-04-02") {
		t.Fatalf("%+v", s.Lines)
	}
	flap := refs(s, rules.CheckFlap)[0]
	first := r.open(site)[rules.CheckFlap].UID
	s = r.do("2026-03-02", CheckAct{Do: CheckSet, Months: 1}, flap)
	s = r.do("2026-04-03", CheckAct{Do: CheckSkip, Why: "scaffold"}, flap)
	if next(s, rules.CheckFlap) != "2026-05-02" { // the series of the 2nd goes on
		t.Errorf("skipped: %s", next(s, rules.CheckFlap))
	}
	if d := r.due(first); d.State != vent.DueWithdrawn {
		t.Errorf("skipped, not done: %+v", d)
	}
	uid := r.open(site)[rules.CheckFlap].UID
	s = r.do("2026-05-02", CheckAct{Do: CheckPutOff, Until: theDay("2026-05-20"), Why: "snow"}, flap)
	if d := r.open(site)[rules.CheckFlap]; d.UID != uid || d.Day != theDay("2026-05-20") {
		t.Errorf("put off: %+v", d)
	}
	s = r.do("2026-05-31", CheckAct{Do: CheckDone, On: theDay("2026-05-31")}, flap) // late: counted from when it was done
	if next(s, rules.CheckFlap) != "2026-06-30" {
		t.Errorf("done late: %s", next(s, rules.CheckFlap))
	}
	if d := r.due(uid); d.State != vent.DueDone {
		t.Errorf("done: %+v", d)
	}
	s = r.do("2026-06-20", CheckAct{Do: CheckDone}, flap) // early
	if next(s, rules.CheckFlap) != "2026-07-20" {
		t.Errorf("done early: %s", next(s, rules.CheckFlap))
	}
	s = r.do("2026-06-21", CheckAct{Do: CheckOff, Why: "the lessee looks"}, flap)
	if len(s.Off) != 1 || s.Off[0].Check.Who != "Ida Lund" || len(refs(s, rules.CheckFlap)) != 0 || r.open(site)[rules.CheckFlap].UID != "" {
		t.Errorf("off: %+v", s.Off)
	}
	for field, x := range map[string]CheckAct{
		"by": {Do: CheckSkip, Why: "away", Who: " "}, "why": {Do: CheckOff}, "until": {Do: CheckPutOff, Why: "x", Until: theDay("2026-06-01")},
		"months": {Do: CheckSet, Months: 13}, "date": {Do: CheckDone, On: theDay("2027-01-01")}, "do": {Do: "burn"},
	} {
		if x.Who == "" {
			x.Who = "Ida Lund"
		}
		_, err := r.ActOnChecks(at("2026-06-22"), []string{refs(s, rules.CheckGas)[0]}, x)
		var p vent.Problems
		if !errors.As(err, &p) || p[0].Field != field {
			t.Errorf("%+v: %v, want a problem of %s", x, err, field)
		}
	}
	for _, ref := range []string{"", "deadbeef", "outlet_flap@nothing", "nothing@" + site.String(), rules.CheckScreen + "@" + site.String(), vent.ID{1}.String()} {
		if _, err := r.ActOnChecks(at("2026-06-22"), []string{ref}, CheckAct{Do: CheckOn}); err == nil {
			t.Errorf("check %q was found", ref)
		}
	}
}

// Smoke alarms 10 years from manufacture (NFPA 72 as quoted), CO alarms 7: the new alarm's own date begins the next time.
func TestAlarmsAreReplacedByTheirDate(t *testing.T) {
	r := newCheckRig(t, vent.Household, gasHome)
	all := readAll(t, r.Desk)
	days := func(s CheckSheet) (out []string) {
		for _, l := range s.Lines {
			for _, x := range l.Items {
				if x.Check.Rule == rules.CheckAlarmReplace {
					out = append(out, string(x.Appliance.Kind)+" "+x.Day.String())
				}
			}
		}
		slices.Sort(out)
		return out
	}
	s := r.sheet("2027-03-01", 0)
	if got := days(s); !slices.Equal(got, []string{"co_alarm 2029-09-01", "smoke_alarm 2027-03-20"}) {
		t.Fatalf("%v", got)
	}
	smoke := refs(s, rules.CheckAlarmReplace)[0]
	for field, x := range map[string]CheckAct{
		"made": {}, "made ": {Made: theDay("2027-04-01")}, " made": {Made: theDay("2015-01-01")},
	} {
		x.Do, x.Who = CheckDone, "Ida Lund"
		_, err := r.ActOnChecks(at("2027-03-01"), []string{smoke}, x)
		var p vent.Problems
		if !errors.As(err, &p) || p[0].Field != strings.TrimSpace(field) {
			t.Errorf("%+v: %v", x, err)
		}
	}
	s = r.do("2027-03-01", CheckAct{Do: CheckDone, Made: theDay("2026-11-15")}, smoke)
	if got := days(s); !slices.Equal(got, []string{"co_alarm 2029-09-01", "smoke_alarm 2036-11-15"}) {
		t.Errorf("%v", got)
	}
	// The maker's date goes before the years; an import brings it.
	mustImport(t, r.Desk, 400, "customer_name,address,unit_name,fuel,co_alarm_replace_by\nIda Lund,9 Heron Lane,House,gas,2027-12-01\n")
	if got := days(r.sheet("2027-04-10", 0)); !slices.Equal(got, []string{"co_alarm 2027-12-01", "smoke_alarm 2036-11-15"}) {
		t.Errorf("%v", got)
	}
	// A second smoke alarm without a date: look on its back within a month.
	a, s, err := r.AddAlarm(at("2027-04-10"), all.units[0].ID, Alarm{Kind: vent.SmokeAlarm})
	if err != nil || a.Kind != vent.SmokeAlarm {
		t.Fatal(err)
	}
	if got := days(s); !slices.Equal(got, []string{"co_alarm 2027-12-01", "smoke_alarm 2027-05-10", "smoke_alarm 2036-11-15"}) {
		t.Errorf("%v", got)
	}
	// Its date is found on its back: it is past its time already, and nobody has replaced it yet.
	second := ""
	for _, l := range s.Lines {
		for _, x := range l.Items {
			if x.Check.Rule == rules.CheckAlarmReplace && x.Appliance.ID == a.ID {
				second = x.Ref
			}
		}
	}
	s = r.do("2027-04-12", CheckAct{Do: CheckSet, Made: theDay("2016-02-29")}, second)
	if got := days(s); !slices.Equal(got, []string{"co_alarm 2027-12-01", "smoke_alarm 2026-02-28", "smoke_alarm 2036-11-15"}) {
		t.Errorf("%v", got)
	}
	if _, _, err := r.AddAlarm(at("2027-04-10"), all.units[0].ID, Alarm{Kind: vent.Dryer}); !errors.Is(err, vent.ErrInvalid) {
		t.Errorf("a dryer is no alarm: %v", err)
	}
	rep := doImport(t, r.Desk, 410, "two.csv", "customer_name,address,unit_name,fuel,smoke_alarm_made\nIda Lund,9 Heron Lane,House,gas,2027-01-01\n", ImportOptions{})
	wantOneProblem(t, rep, 2, "smoke_alarm_made", "2 alarms")
}

// A data file from before there were checks gets them with the first replanning, none of them overdue; the same again changes
// nothing. What is no longer kept takes its checks along.
func TestOldFilesGetChecksAndEndedThingsLoseThem(t *testing.T) {
	d := importDesk(t, vent.Buildings)
	var site, run vent.ID
	put := func(f func(tx *store.Tx) error) {
		t.Helper()
		if err := d.Store().Update(on(0), f); err != nil {
			t.Fatal(err)
		}
	}
	put(func(tx *store.Tx) error {
		c, s, u, a := tx.NewID(), tx.NewID(), tx.NewID(), tx.NewID()
		site, run = s, tx.NewID()
		return errors.Join(
			store.Customers.Put(tx, vent.Customer{ID: c, Name: "Ida Lund"}, "t"),
			store.Sites.Put(tx, vent.Site{ID: s, CustomerID: c, Name: "9 Heron Lane", Zone: "America/New_York"}, "t"),
			store.Units.Put(tx, vent.Unit{ID: u, SiteID: s, Kind: vent.House, Name: "House"}, "t"),
			store.Appliances.Put(tx, vent.Appliance{ID: a, UnitID: u, Kind: vent.Dryer, Fuel: vent.Electric, Installed: theDay("2011-05-01")}, "t"),
			store.Runs.Put(tx, vent.Run{ID: run, SiteID: s, UnitID: u, Name: "House", Shape: vent.Single, Known: theDay("2012-01-01"), Versions: []vent.Version{{DryerID: a}}}, "t"))
	})
	r := checkRig{d, t}
	if len(r.open(site)) != 0 {
		t.Fatal("there are checks already")
	}
	replan := func() {
		t.Helper()
		if _, err := d.Replan(context.Background(), on(0)); err != nil {
			t.Fatal(err)
		}
	}
	replan()
	open := r.open(site)
	if len(open) != 3 {
		t.Fatalf("%+v", open)
	}
	for _, x := range open {
		if x.Day != theDay("2026-04-02") {
			t.Errorf("%s on %s: overdue for years", x.Reason.Rule, x.Day)
		}
	}
	put(func(tx *store.Tx) error { return replanSites(tx, "again") })
	replan()
	for rule, x := range r.open(site) {
		if x != open[rule] {
			t.Errorf("planned again it is %+v", x)
		}
	}
	put(func(tx *store.Tx) error {
		x, err := store.Runs.Get(tx, run)
		if err != nil {
			return err
		}
		x.Ended = theDay("2026-03-02")
		return errors.Join(store.Runs.Put(tx, x, "ended"), tx.Replan(site, "ended"))
	})
	replan()
	if open := r.open(site); len(open) != 2 || open[rules.CheckFlap].UID != "" { // the dryer is still there
		t.Errorf("%+v", open)
	}
}

// A name that is erased is gone from checks as well, and an export brings checks and their entries along as they are.
func TestChecksAreErasedAndExported(t *testing.T) {
	r := newCheckRig(t, vent.Household, gasHome)
	s := r.sheet("2026-03-02", 0)
	r.do("2026-03-02", CheckAct{Do: CheckDone}, refs(s, rules.CheckScreen)...)
	r.do("2026-03-02", CheckAct{Do: CheckOff, Why: "none there"}, refs(s, rules.CheckFlap)...)
	dump := exportOf(t, r.Desk)
	other := importDesk(t, vent.Household)
	if rep := doImport(t, other, 1, "all.jsonl", string(dump), ImportOptions{}); !rep.Stored || rep.Problems.Len() > 0 {
		t.Fatalf("%+v", rep.Problems.Listed)
	}
	before := r.open(s.Site.ID)
	if _, err := other.Replan(context.Background(), on(1)); err != nil {
		t.Fatal(err)
	}
	for rule, x := range (checkRig{other, t}).open(s.Site.ID) {
		if x != before[rule] {
			t.Errorf("%s: %+v, was %+v", rule, x, before[rule])
		}
	}
	if _, err := r.Erase(at("2026-03-03"), "ida.lund@example.com"); err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(exportOf(t, r.Desk))) {
		if strings.Contains(line, "Ida Lund") {
			t.Errorf("still there: %s", line)
		}
	}
}
