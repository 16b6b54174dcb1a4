package desk

import (
	"bytes"
	"encoding/json"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"ventdue/desk/intake"
	"ventdue/store"
	"ventdue/vent"
)

// erasedName stands where a name was.
const erasedName = "(erased)"

// traces finds a person's name where other records say it. Two people of one name cannot be told apart there: both lose it.
type traces struct {
	tx   *store.Tx
	p    vent.Person // as it was
	n    int         // records that were cleaned
	seen map[vent.Subject]bool
}

func (t *traces) is(name string) bool {
	return name != "" && intake.Fold(name) == intake.Fold(t.p.Name)
}

// rename cleans one name where it is the person's.
func (t *traces) rename(name *string) bool {
	if !t.is(*name) {
		return false
	}
	*name = erasedName
	return true
}

// clean takes the person's name out of the customers they belong to, out of who did, said, released and approved
// something, out of feeds' names, and out of the trail of each record that showed it. It gives the lines of the trail
// that were changed.
func (t *traces) clean() (lines int, err error) {
	t.seen = map[vent.Subject]bool{}
	mine, err := t.customers()
	if err != nil {
		return 0, err
	}
	errs := []error{
		scrub(t, store.Customers, store.Customers.All(t.tx), func(c *vent.Customer) (vent.Subject, bool) {
			said := mine[c.ID] && t.rename(&c.Name)
			for i := range c.Approvals {
				said = t.rename(&c.Approvals[i].By) || said
			}
			return vent.Subject{Kind: vent.KindCustomer, ID: c.ID}, said
		}),
		scrub(t, store.Findings, store.Findings.All(t.tx), func(f *vent.Finding) (vent.Subject, bool) {
			said := t.rename(&f.By.Name)
			if f.By.PersonID == t.p.ID && f.By.Name != "" && f.By.Name != erasedName {
				f.By.Name, said = erasedName, true
			}
			return vent.Subject{Kind: vent.KindRun, ID: f.RunID}, said
		}),
		scrub(t, store.Signs, store.Signs.All(t.tx), func(s *vent.Sign) (vent.Subject, bool) {
			return vent.Subject{Kind: vent.KindRun, ID: s.RunID}, t.rename(&s.By)
		}),
		scrub(t, store.Faults, store.Faults.All(t.tx), func(f *vent.Fault) (vent.Subject, bool) {
			said := t.rename(&f.ClosedBy)
			for i := range f.Told {
				said = t.rename(&f.Told[i].Who) || said
			}
			return f.Subject, said
		}),
		scrub(t, store.Checks, store.Checks.All(t.tx), func(c *vent.Check) (vent.Subject, bool) {
			said := false
			for _, name := range []*string{&c.DoneBy, &c.Who, &c.Kept.DoneBy, &c.Kept.Who} {
				said = t.rename(name) || said
			}
			return c.Subject, said
		}),
		scrub(t, store.Visits, store.Visits.All(t.tx), func(v *vent.Visit) (vent.Subject, bool) {
			said := t.rename(&v.ClosedBy)
			for _, text := range []*string{&v.Why, &v.Note} {
				was := *text
				*text = withoutName(was, t.p.Name)
				said = said || *text != was
			}
			return vent.Subject{Kind: vent.KindVisit, ID: v.ID}, said
		}),
		scrub(t, store.Appointments, store.Appointments.All(t.tx), func(a *vent.Appointment) (vent.Subject, bool) {
			was := a.Why
			a.Why = withoutName(was, t.p.Name)
			return vent.Subject{Kind: vent.KindAppointment, ID: a.ID}, a.Why != was
		}),
		scrub(t, store.Sites, store.Sites.All(t.tx), func(x *vent.Site) (vent.Subject, bool) {
			n := len(x.Wishes)
			x.Wishes = slices.DeleteFunc(slices.Clone(x.Wishes), func(w vent.Wish) bool { // what the person asked for goes with them
				return w.By == bookerActor(t.p.ID) || withoutName(w.Text, t.p.Name) != w.Text || t.is(w.By)
			})
			return vent.Subject{Kind: vent.KindSite, ID: x.ID}, len(x.Wishes) != n
		}),
		scrub(t, store.Feeds, store.Feeds.All(t.tx), func(f *vent.Feed) (vent.Subject, bool) {
			was := f.Name
			f.Name = withoutName(f.Name, t.p.Name)
			theirs := f.PersonID == t.p.ID || f.Scope == vent.Scope{Kind: vent.KindPerson, ID: t.p.ID}
			if f.PersonID == t.p.ID {
				f.PersonID = vent.ID{}
			}
			if theirs {
				f.FetchedBy = ""
				if f.Revoked == 0 {
					f.Revoked = t.tx.Now() // whoever still reads it has no business with it
				}
			}
			return vent.Subject{Kind: vent.KindFeed, ID: f.ID}, theirs || f.Name != was
		}),
		scrub(t, store.Tokens, store.Tokens.All(t.tx), func(x *vent.Token) (vent.Subject, bool) {
			was := x.Name
			x.Name = withoutName(x.Name, t.p.Name)
			return vent.Subject{Kind: vent.KindToken, ID: x.ID}, x.Name != was
		}),
	}
	for _, err := range errs {
		if err != nil {
			return 0, err
		}
	}
	for s := range t.seen {
		n, err := t.tx.RewriteTrail(s, t.line)
		if err != nil {
			return 0, err
		}
		lines += n
	}
	return lines, nil
}

// customers are those the person is a contact of, or lives in a building of.
func (t *traces) customers() (map[vent.ID]bool, error) {
	mine := map[vent.ID]bool{}
	for c, err := range store.CustomersOf(t.tx, t.p.ID) {
		if err != nil {
			return nil, err
		}
		mine[c.ID] = true
	}
	for u, err := range store.UnitsOccupiedBy(t.tx, t.p.ID) {
		if err != nil {
			return nil, err
		}
		s, err := store.Sites.Get(t.tx, u.SiteID)
		if err != nil {
			return nil, err
		}
		mine[s.CustomerID] = true
	}
	return mine, nil
}

// scrub writes those records of a table that clean has changed, without a line of the trail, which would keep the name.
func scrub[T any](t *traces, table *store.Table[T], all func(func(T, error) bool), clean func(*T) (vent.Subject, bool)) error {
	var changed []T
	for v, err := range all {
		if err != nil {
			return err
		}
		if s, said := clean(&v); said {
			changed = append(changed, v)
			t.seen[s] = true
		}
	}
	for _, v := range changed {
		if err := table.Put(t.tx, v, ""); err != nil {
			return err
		}
		t.n++
	}
	return nil
}

// line cleans one line of the trail; false when it does not show the name.
func (t *traces) line(a *vent.Audit) bool {
	was, before := *a, any(nil)
	a.What = withoutName(a.What, t.p.Name)
	d := json.NewDecoder(bytes.NewReader(a.Before))
	d.UseNumber()
	if d.Decode(&before) != nil {
		return a.What != was.What // nothing was there before
	}
	cleaned := 0
	before = t.value(before, &cleaned)
	if cleaned > 0 {
		a.Before, _ = json.Marshal(before) // it was just decoded
	}
	return cleaned > 0 || a.What != was.What
}

// value takes the name out of every text of a decoded JSON value.
func (t *traces) value(v any, cleaned *int) any {
	switch x := v.(type) {
	case string:
		s := withoutName(x, t.p.Name)
		if s != x {
			*cleaned++
		}
		return s
	case []any:
		for i := range x {
			x[i] = t.value(x[i], cleaned)
		}
	case map[string]any:
		for k := range x {
			x[k] = t.value(x[k], cleaned)
		}
	}
	return v
}

// withoutName puts erasedName where the name stands in a text as words of their own.
func withoutName(text, name string) string {
	if name == "" || name == erasedName {
		return text
	}
	if intake.Fold(text) == intake.Fold(name) {
		return erasedName
	}
	var out strings.Builder
	for at := 0; ; {
		i := strings.Index(text[at:], name)
		if i < 0 {
			out.WriteString(text[at:])
			return out.String()
		}
		from, to := at+i, at+i+len(name)
		before, _ := utf8.DecodeLastRuneInString(text[:from])
		after, _ := utf8.DecodeRuneInString(text[to:])
		out.WriteString(text[at:from])
		if inWord(before) || inWord(after) {
			out.WriteString(name)
		} else {
			out.WriteString(erasedName)
		}
		at = to
	}
}

func inWord(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) }
