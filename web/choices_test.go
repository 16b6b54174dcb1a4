package web

import (
	"bytes"
	"io"
	"mime/multipart"
	"net/http"
	"net/url"
	"os"
	"reflect"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"ventdue/desk"
	"ventdue/store"
	"ventdue/vent"
)

// choiceLink gives the path that a mail to the person carries.
func (h *house) choiceLink(person vent.ID) string {
	h.t.Helper()
	l, err := h.desk.ChoiceLinks(h.by())
	if err != nil {
		h.t.Fatal(err)
	}
	return l.Path(h.person(person), vent.DateOf(h.now))
}

func (h *house) person(id vent.ID) (p vent.Person) {
	h.t.Helper()
	if err := h.store.View(func(tx *store.Tx) (err error) {
		p, err = store.Persons.Get(tx, id)
		return err
	}); err != nil {
		h.t.Fatal(err)
	}
	return p
}

// The one click of RFC 8058 section 3.2 in both encodings that section names, as a mail provider's machine sends it: without a
// cookie, from another site, without a question. It is answered with 200 and no redirect, and sets no cookie.
func TestOneClick(t *testing.T) {
	for name, body := range map[string]func() (io.Reader, string){
		"urlencoded": func() (io.Reader, string) {
			return strings.NewReader("List-Unsubscribe=One-Click"), "application/x-www-form-urlencoded"
		},
		"multipart": func() (io.Reader, string) {
			var b bytes.Buffer
			m := multipart.NewWriter(&b)
			_ = m.WriteField("List-Unsubscribe", "One-Click")
			_ = m.Close()
			return &b, m.FormDataContentType()
		},
	} {
		t.Run(name, func(t *testing.T) {
			h := newHouse(t, locked)
			id := h.add(maple())[0]
			link := h.choiceLink(id.person)
			for range 3 { // providers try again
				data, kind := body()
				r := h.doAs(h.browser(), h.request("POST", link, data, "Content-Type", kind, "Origin", "https://webmail.example", "Sec-Fetch-Site", "cross-site"))
				if r.status != http.StatusOK || r.header.Get("Location") != "" || len(r.header["Set-Cookie"]) > 0 {
					t.Fatalf("%d, %v", r.status, r.header)
				}
			}
			p := h.person(id.person)
			want := []vent.Consent{{Purpose: "all", At: vent.InstantOf(h.now), How: "one-click"}}
			if !reflect.DeepEqual(p.Consents, want) {
				t.Errorf("said: %+v", p.Consents)
			}
			for _, purpose := range vent.Purposes() {
				if p.Wants(purpose) {
					t.Errorf("still wants %s", purpose)
				}
			}
		})
	}
}

// A program that follows links changes nothing, in whatever way it asks; nor does one that posts what says nothing.
func TestScannersChangeNoChoice(t *testing.T) {
	h := newHouse(t, locked)
	id := h.add(maple())[0]
	link, before := h.choiceLink(id.person), h.person(id.person)
	for _, method := range []string{"GET", "HEAD", "OPTIONS", "PUT", "DELETE"} {
		for _, path := range []string{link, link + "?List-Unsubscribe=One-Click&none=yes", link + "?save=yes"} {
			h.doAs(h.browser(), h.request(method, path, nil))
		}
	}
	for _, body := range []string{"", "x=1", "List-Unsubscribe=", "list-unsubscribe=one-click", "save=yes&first=x", "save=yes&first=7&language=xx&wants=none"} {
		r := h.doAs(h.browser(), h.request("POST", link+"?List-Unsubscribe=One-Click", strings.NewReader(body), "Content-Type", "application/x-www-form-urlencoded"))
		if r.status != http.StatusUnprocessableEntity {
			t.Errorf("POST %q: %d", body, r.status)
		}
		checkPage(t, body, r.body)
	}
	if after := h.person(id.person); !reflect.DeepEqual(before, after) {
		t.Errorf("changed to %+v", after)
	}
}

// The page itself: read without signing in, chosen, kept, and shown as it stands in the person's language.
func TestChoosing(t *testing.T) {
	h := newHouse(t, locked)
	id := h.add(maple())[0]
	link := h.choiceLink(id.person)
	r := h.doAs(h.browser(), h.request("GET", link, nil))
	checkPage(t, "choices", r.body)
	wantText(t, r.body, "Your reminders", "Pat Hill Rentals", "o…@hill.example", "30 days before", "that is about safety")
	wantNoText(t, r.body, "office@hill.example", "12 Maple Street", `href="/feeds"`)
	r = h.post(link, url.Values{"save": {"yes"}, "wants": {"run_due", "record"}, "first": {"14"}, "pause": {"2026-12-24"}, "language": {"es"}})
	if r.status != http.StatusOK {
		t.Fatalf("%d %s", r.status, text(r.body))
	}
	checkPage(t, "saved", r.body)
	wantText(t, r.body, "Guardado", "Sus avisos")
	p := h.person(id.person)
	if p.FirstDays != 14 || p.PausedUntil.String() != "2026-12-24" || p.Language != "es" || !p.Wants(vent.PurposeDues) || p.Wants(vent.PurposeChecks) || !p.Wants(vent.PurposeRecords) {
		t.Errorf("kept: %+v", p)
	}
	for _, c := range p.Consents {
		if c.How != "preference page" || c.At != vent.InstantOf(h.now) {
			t.Errorf("said: %+v", c)
		}
	}
	for _, bad := range []url.Values{{"pause": {"2028-01-01"}}, {"pause": {"2026-11-01"}}, {"pause": {"soon"}}, {"first": {"8"}}, {"first": {"-1"}}, {"wants": {"all"}}, {"language": {"tlh"}}} {
		form := url.Values{"save": {"yes"}, "first": {"14"}, "language": {"es"}}
		for k, v := range bad {
			form[k] = v
		}
		if r := h.post(link, form); r.status != http.StatusUnprocessableEntity {
			t.Errorf("%v: %d", bad, r.status)
		}
	}
	if again := h.person(id.person); !reflect.DeepEqual(p, again) {
		t.Errorf("refused forms changed it to %+v", again)
	}
	h.post(link, url.Values{"none": {"yes"}})
	if h.person(id.person).Wants(vent.PurposeDues) {
		t.Error("no to everything is not kept")
	}
}

// A link is good for one person and one address, for thirteen months; one that is too old still says no to everything.
func TestChoiceLinksThatDoNotFit(t *testing.T) {
	h := newHouse(t, locked)
	other := maple()
	other.customer, other.site, other.mail = "Oak Owners", "Oak Court", "desk@oak.example"
	ids := h.add(maple(), other)
	link, theirs := h.choiceLink(ids[0].person), h.choiceLink(ids[1].person)
	mixed := link[:len(link)-22] + theirs[len(theirs)-22:]
	for _, bad := range []string{"/m/", "/m/x", link[:len(link)-1], link + "A", mixed, "/m/" + strings.Repeat("A", 54)} {
		if r := h.doAs(h.browser(), h.request("POST", bad, strings.NewReader("List-Unsubscribe=One-Click"), "Content-Type", "application/x-www-form-urlencoded")); r.status != http.StatusNotFound {
			t.Errorf("%s: %d", bad, r.status)
		}
	}
	if next := h.choiceLink(ids[0].person); next != link {
		t.Error("the next mail of the month carries another link")
	}
	h.now = h.now.AddDate(1, 2, 0)
	r := h.get(link)
	wantText(t, r.body, "too old to choose by")
	if r := h.post(link, url.Values{"save": {"yes"}, "first": {"0"}, "language": {"en"}}); r.status != http.StatusConflict {
		t.Errorf("choosing by an old link: %d", r.status)
	}
	h.post(link, url.Values{"List-Unsubscribe": {"One-Click"}})
	if h.person(ids[0].person).Wants(vent.PurposeDues) {
		t.Error("an old link does not say no")
	}
	h.update(func(tx *store.Tx) error {
		p, err := store.Persons.Get(tx, ids[1].person)
		p.Email = "new@oak.example"
		if err == nil {
			err = store.Persons.Put(tx, p, "test")
		}
		return err
	})
	if r := h.get(theirs); r.status != http.StatusNotFound {
		t.Errorf("the old address's link: %d", r.status)
	}
	fresh := h.choiceLink(ids[1].person)
	if err := h.desk.VoidLinks(h.by(), ids[1].person); err != nil {
		t.Fatal(err)
	}
	if r := h.get(fresh); r.status != http.StatusNotFound {
		t.Errorf("a void link: %d", r.status)
	}
	if _, err := h.desk.Erase(desk.By{Now: h.now, Actor: "test"}, ids[0].person.String()); err != nil {
		t.Fatal(err)
	}
	if r := h.get(link); r.status != http.StatusNotFound {
		t.Errorf("an erased person's link: %d", r.status)
	}
}

// A scanner with a real browser opens the link, waits, scrolls and asks again: nothing changes until somebody presses.
func TestABrowserThatOnlyLooksChangesNoChoice(t *testing.T) {
	ctx := chrome(t)
	h := newHouse(t, nil)
	id := h.add(maple())[0]
	link, before := h.choiceLink(id.person), h.person(id.person)
	b := tab{t: t, ctx: ctx, base: h.pages.URL, shots: os.Getenv("VENTDUE_SCREENSHOTS")}
	if b.shots == "" {
		b.shots = t.TempDir()
	}
	b.open(link)
	b.says("Your reminders")
	b.look("choices")
	b.do("scroll and reload", chromedp.Evaluate[chromedp.Void](`window.scrollTo(0, document.body.scrollHeight)`), chromedp.Reload())
	if after := h.person(id.person); !reflect.DeepEqual(before, after) {
		t.Errorf("looking changed it to %+v", after)
	}
	b.press(`button[name=none]`)
	b.says("You get no more reminders")
	if h.person(id.person).Wants(vent.PurposeDues) {
		t.Error("pressing did nothing")
	}
}
