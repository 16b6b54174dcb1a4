package notify

import (
	"bytes"
	"slices"
	"strings"
	"testing"

	"ventdue/desk"
	"ventdue/internal/outside"
	"ventdue/notify/calendar"
	"ventdue/store"
	"ventdue/vent"
)

// kinds lists a calendar's entries by what they are: events as "e", tasks as "t", with their title.
func kinds(t *testing.T, body []byte) (all []string) {
	t.Helper()
	cal, err := calendar.Decode(bytes.NewReader(body), calendar.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range cal.Children {
		what := map[string]string{"VEVENT": "e ", "VTODO": "t "}[c.Name]
		if what == "" {
			continue
		}
		title, err := c.Props.Text("SUMMARY")
		if err != nil {
			t.Fatal(err)
		}
		title, _, _ = strings.Cut(title, ":")
		all = append(all, what+title)
	}
	slices.Sort(all)
	return all
}

// Each kind of entries alone and together, with tasks where they are asked for; a technician's shows their visits.
func TestFeedParts(t *testing.T) {
	p := publish(t)
	h := p.House("Lund", "America/New_York")
	check := vent.Wanted{Kind: vent.DueCheck, Opener: vent.ID{5}, Day: march2.AddDays(5), Earliest: march2, Latest: march2.AddDays(9), Reason: vent.Reason{Bound: vent.BoundInterval, Rule: "co_alarm_test", Since: march2}}
	clean := vent.Wanted{Kind: vent.DueClean, Opener: vent.ID{6}, Day: march2.AddDays(20), Earliest: march2, Latest: march2.AddDays(30), Reason: vent.Reason{Bound: vent.BoundNoEvidence, Months: 12, Since: march2.AddMonths(-12)}}
	p.Want(h, vent.KindOperator, clean, check)
	lee := p.Person("Lee", "lee@example.com")
	visit := p.visit(h, march2.AddDays(3), "America/New_York", vent.Booked)
	p.Update(func(tx *store.Tx) error {
		visit.TechnicianID = lee
		return store.Visits.Put(tx, visit, "test")
	})
	make := func(scope vent.Scope, tasks bool, shows ...vent.FeedPart) []byte {
		f, err := p.Desk.CreateFeed(p.By(), vent.Feed{Scope: scope, Name: "test", Tasks: tasks, Shows: shows})
		if err != nil {
			t.Fatal(err)
		}
		return p.body(f.Token)
	}
	all := vent.OperatorScope
	for _, c := range []struct {
		name  string
		scope vent.Scope
		tasks bool
		shows []vent.FeedPart
		want  string
	}{
		{"everything", all, false, nil, "e Clean the dryer vent, e Dryer vent visit, e Test the CO alarm"},
		{"dues", all, false, []vent.FeedPart{vent.FeedDues}, "e Clean the dryer vent"},
		{"checks", all, false, []vent.FeedPart{vent.FeedChecks}, "e Test the CO alarm"},
		{"visits", all, false, []vent.FeedPart{vent.FeedVisits}, "e Dryer vent visit"},
		{"dues and visits with tasks", all, true, []vent.FeedPart{vent.FeedDues, vent.FeedVisits}, "e Clean the dryer vent, e Dryer vent visit, t Clean the dryer vent"},
		{"customer with tasks", vent.Scope{Kind: vent.KindCustomer, ID: h.Customer}, true, nil, "e Clean the dryer vent, e Dryer vent visit, e Test the CO alarm, t Clean the dryer vent, t Test the CO alarm"},
		{"technician", vent.Scope{Kind: vent.KindPerson, ID: lee}, true, nil, "e Dryer vent visit"},
	} {
		if got := strings.Join(kinds(t, make(c.scope, c.tasks, c.shows...)), ", "); got != c.want {
			t.Errorf("%s: %s\nwant %s", c.name, got, c.want)
		}
	}
	if _, err := p.Desk.CreateFeed(p.By(), vent.Feed{Scope: all, Name: "test", Shows: []vent.FeedPart{"everything"}}); err == nil {
		t.Error("a part that is not known is taken")
	}
	// Three programs that know tasks read the same events beside them, each task once.
	body := make(all, true, vent.FeedDues)
	for _, parser := range outside.Parsers {
		t.Run(parser.Name, func(t *testing.T) {
			events := slices.DeleteFunc(parser.Read(t, body), func(e outside.ParsedEvent) bool { return strings.HasSuffix(e.UID, "-task") })
			if len(events) != 1 {
				t.Errorf("it reads %d events beside the task", len(events))
			}
		})
	}
}

// A task goes when the work is done, and its day moves with the due's under the same UID.
func TestTasksFollowTheDue(t *testing.T) {
	p := publish(t)
	h := p.House("Lund", "America/New_York")
	due := p.Due(h, march2.AddDays(20))
	f, err := p.Desk.CreateFeed(p.By(), vent.Feed{Scope: vent.OperatorScope, Name: "test", Tasks: true})
	if err != nil {
		t.Fatal(err)
	}
	task := func() (uid, day string) {
		cal, err := calendar.Decode(bytes.NewReader(p.body(f.Token)), calendar.Limits{})
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range cal.Children {
			if c.Name == "VTODO" {
				return c.Props.Get("UID").Value, c.Props.Get("DUE").Value
			}
		}
		return "", ""
	}
	if uid, day := task(); uid != due.UID+"-task" || day != "20260322" {
		t.Errorf("task %s due %s", uid, day)
	}
	p.Due(h, march2.AddDays(30))
	if uid, day := task(); uid != due.UID+"-task" || day != "20260401" {
		t.Errorf("moved: task %s due %s", uid, day)
	}
	p.Done(h)
	if uid, _ := task(); uid != "" {
		t.Errorf("done, and task %s is still there", uid)
	}
}

// Whoever is erased reads no calendar any more: those made for them, and that of their visits, end.
func TestErasedPersonsFeedsEnd(t *testing.T) {
	p := publish(t)
	ida := p.Person("Ida", "ida@example.com")
	var made []desk.NewFeed
	for _, f := range []vent.Feed{{Scope: vent.OperatorScope, Name: "of Ida", PersonID: ida}, {Scope: vent.Scope{Kind: vent.KindPerson, ID: ida}, Name: "visits"}, {Scope: vent.OperatorScope, Name: "office"}} {
		n, err := p.Desk.CreateFeed(p.By(), f)
		if err != nil {
			t.Fatal(err)
		}
		made = append(made, n)
	}
	if _, err := p.Desk.Erase(p.By(), "ida@example.com"); err != nil {
		t.Fatal(err)
	}
	for i, n := range made {
		head, err := p.Desk.FeedHead(n.Token, p.Now)
		if err != nil || (head.Feed.Revoked != 0) != (i < 2) || !head.Feed.PersonID.IsZero() {
			t.Errorf("%s: %+v, %v", n.Feed.Name, head.Feed, err)
		}
	}
}
