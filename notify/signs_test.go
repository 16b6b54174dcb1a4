package notify

import (
	"strings"
	"testing"

	"ventdue/desk"
	"ventdue/internal/scene"
	"ventdue/vent"
)

// Every mail leads to the form by which somebody tells what they noticed; a stop's mail also to the page on which the
// person says that they know. Without a public address there are no such links.
func TestMailsLeadToForms(t *testing.T) {
	s := scene.Start(t, noon)
	signs, err := s.Desk.SignLinks(s.By())
	if err != nil {
		t.Fatal(err)
	}
	acks, err := s.Desk.AckLinks(s.By())
	if err != nil {
		t.Fatal(err)
	}
	from := larkspur
	from.Pages, from.Signs, from.Acks = "https://vents.example.com", signs, acks
	one := aReminder(item(1, 10))
	m := readGo(t, composed(t, from, one).Raw).Text
	if want := from.Pages + signs.Path(one.Items[0].Run.ID); !strings.Contains(m, want) {
		t.Errorf("the reminder does not lead to %s:\n%s", want, m)
	}
	if strings.Contains(m, from.Pages+"/a/") {
		t.Error("a reminder asks for an acknowledgement")
	}
	two := aReminder(item(1, 10), item(2, 12))
	two.Items[1].Run.ID = vent.ID{15: 9}
	m = readGo(t, composed(t, from, two).Raw).Text
	for _, it := range two.Items {
		if !strings.Contains(m, signs.Path(it.Run.ID)) || !strings.Contains(m, "Tell what you noticed: "+it.Label()) {
			t.Errorf("no link for %s:\n%s", it.Label(), m)
		}
	}
	stop := aReminder(item(1, 0, func(it *desk.ReminderItem) {
		it.Due.Kind, it.Due.Severity, it.Step = vent.DueFault, vent.Stop, "stop_1_2026-03-02"
		it.Fault = vent.Fault{ID: vent.ID{15: 3}, Severity: vent.Stop}
	}))
	stop.Message.Class = "stop"
	m = readGo(t, composed(t, from, stop).Raw).Text
	for _, want := range []string{from.Pages + acks.Path(stop.Items[0].Fault, stop.Person), signs.Path(stop.Items[0].Run.ID)} {
		if !strings.Contains(m, want) {
			t.Errorf("the stop does not lead to %s:\n%s", want, m)
		}
	}
	from.Pages = ""
	if m = readGo(t, composed(t, from, stop).Raw).Text; strings.Contains(m, "/s/") || strings.Contains(m, "/a/") {
		t.Error("links without an address to begin with")
	}
}
