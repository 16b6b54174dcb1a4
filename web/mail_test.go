package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"ventdue/store"
	"ventdue/vent"
)

// Every state of a message and a person, in words: what was sent, what came of it, why somebody gets nothing.
func TestMailPage(t *testing.T) {
	h := newHouse(t, nil)
	h.setOperator(vent.US)
	other := maple()
	other.customer, other.site, other.mail = "Oak Owners", "Oak Court", "desk@oak.example"
	ids := h.add(maple(), other)
	checkPage(t, "empty", h.page("/mail"))
	wantText(t, h.page("/mail"), "No message so far.")
	says := map[vent.MessageState]string{
		vent.MessagePending: "Waits to be sent, not before Wed 25 November 2026, 11:00.", vent.MessageClaimed: "Is being handed over just now", vent.MessageAccepted: "the server took it",
		vent.MessageDeferred: "Not taken yet. Tried 2 time(s)", vent.MessageFailed: "not tried again", vent.MessageSuppressed: "Not sent.", vent.MessageExpired: "Given up after 2",
		vent.MessageUnknown: "the answer was lost: it may have arrived", vent.MessageDropped: "nothing in it was true any more",
	}
	h.update(func(tx *store.Tx) error {
		dues, err := store.Collect(store.DuesOf(tx, vent.Subject{Kind: vent.KindRun, ID: ids[0].run}))
		if err != nil {
			return err
		}
		i := 0
		for state := range says {
			m := vent.Message{ID: tx.NewID(), PersonID: ids[0].person, On: vent.NewDate(2026, 11, 24), Channel: vent.ByMail, Class: "reminder", To: "office@hill.example", State: state,
				Created: tx.Now(), NotFor: vent.InstantOf(h.now.Add(time.Hour)), Last: tx.Now(), Settled: tx.Now(), Attempts: 2, Answer: "words <b>of</b> a server", Expires: tx.Now()}
			n := vent.Notice{ID: tx.NewID(), Kind: vent.NoticeRunDue, State: vent.NoticeUnsure, Created: tx.Now(), MessageID: m.ID, Day: dues[0].Day, Why: "lost",
				Key: vent.NoticeKey{PersonID: ids[0].person, Thing: vent.Subject{Kind: vent.KindDue, ID: dues[0].ID}, Arm: i, Step: "30_days", Channel: vent.ByMail}}
			m.Notices = []vent.ID{n.ID}
			if err := store.Notices.Put(tx, n, ""); err != nil {
				return err
			}
			if err := store.Messages.Put(tx, m, ""); err != nil {
				return err
			}
			i++
		}
		p, err := store.Persons.Get(tx, ids[1].person)
		if err != nil {
			return err
		}
		p.Undeliverable = "550 no such mailbox"
		p.Say(vent.Consent{Purpose: vent.PurposeChecks, At: tx.Now(), How: "one-click"})
		p.PausedUntil = vent.NewDate(2026, 12, 24)
		return store.Persons.Put(tx, p, "test")
	})
	page := h.page("/people/" + ids[0].person.String() + "/mail")
	checkPage(t, "person", page)
	for _, s := range says {
		wantText(t, page, s)
	}
	wantText(t, page, "Mail to Pat Hill Rentals", "Clean the dryer vent, Maple House, 3B, dryer vent, by", "(30 days before): may have arrived (lost)", "words <b>of</b> a server", "Next for this person:")
	if other := h.page("/customers/" + ids[0].customer.String() + "/mail"); other != page {
		t.Errorf("the customer's page is another one than that of their only contact:\n%s", text(other))
	}
	all := h.page("/mail")
	checkPage(t, "all", all)
	wantText(t, all, "No mail reaches these people", "Pat Oak Owners", "550 no such mailbox", "Does not want to be told when: a small check is due", "by one click in the mail program",
		"Asked for a pause until Thu 24 December 2026.")
	for query, status := range map[string]int{"oak": 200, "desk@oak.example": 200, "nobody@example.com": 404, "%00": 404, strings.Repeat("x", 5000): 404} {
		r := h.get("/mail?who=" + query)
		checkPage(t, query, r.body)
		if r.status != status {
			t.Errorf("who=%.20s: %d", query, r.status)
		}
	}
	for _, n := range hostile() {
		checkPage(t, n, h.get("/mail?who="+strings.NewReplacer(" ", "+", "\n", "%0a", "\t", "%09", "\x00", "%00", "#", "%23", "&", "%26", "%", "%25").Replace(n)).body)
	}
	wantNoText(t, page, "Is told by")
	policy := h.desk.Policy()
	policy.Webhook = true
	h.desk.SetPolicy(policy)
	wantText(t, h.page("/people/"+ids[0].person.String()+"/mail"), "Is told by mail the webhook")
	if r := h.post("/people/"+ids[0].person.String()+"/channels", url.Values{"channels": {"webhook", "mail"}}); r.status != http.StatusSeeOther || len(h.person(ids[0].person).Channels) != 2 {
		t.Errorf("channels: %d, %v", r.status, h.person(ids[0].person).Channels)
	}
	checkPage(t, "channels", h.page("/people/"+ids[0].person.String()+"/mail"))
	if r := h.post("/people/"+ids[0].person.String()+"/channels", url.Values{"channels": {"pigeon"}}); r.status != http.StatusUnprocessableEntity {
		t.Errorf("an unknown channel: %d", r.status)
	}
	link := h.choiceLink(ids[0].person)
	if r := h.post("/people/"+ids[0].person.String()+"/links", nil); r.status != http.StatusSeeOther {
		t.Errorf("making links void: %d", r.status)
	}
	if r := h.get(link); r.status != http.StatusNotFound {
		t.Errorf("a void link: %d", r.status)
	}
	for _, path := range []string{"/people/x/mail", "/people/" + ids[0].run.String() + "/mail", "/customers/" + ids[0].run.String() + "/mail"} {
		if r := h.get(path); r.status != http.StatusNotFound {
			t.Errorf("%s: %d", path, r.status)
		}
	}
}
