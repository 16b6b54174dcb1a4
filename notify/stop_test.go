package notify

import (
	"strings"
	"testing"

	"ventdue/desk"
	"ventdue/vent"
	"ventdue/vent/rules"
)

// A stop says first what to do, then why and whom to call, and does not offer to be rid of it.
func TestStopLetter(t *testing.T) {
	r := aReminder(item(1, 0, func(it *desk.ReminderItem) {
		it.Due.Kind, it.Due.Severity, it.Step, it.Dryer.Fuel = vent.DueFault, vent.Stop, "stop_1_2026-03-02", vent.Gas
		it.Due.Reason = vent.Reason{Bound: vent.BoundCorrective, Rule: rules.BurningReported, Since: march2}
	}))
	r.Message.Class = "stop"
	l, err := larkspur.Compose(r)
	if err != nil {
		t.Fatal(err)
	}
	again := r
	again.Items = []desk.ReminderItem{r.Items[0]}
	again.Items[0].Step = "stop_1_2026-03-03"
	next, err := larkspur.Compose(again)
	if err != nil || next.MailID == l.MailID || next.Thread != l.Thread {
		t.Errorf("the next day's letter: %q after %q in %q, %v", next.MailID, l.MailID, next.Thread, err)
	}
	m := readGo(t, l.Raw)
	subject, text := strings.Join(m.Header["subject"], ""), strings.Join(strings.Fields(m.Text), " ")
	if !strings.HasPrefix(subject, "STOP USING THE DRYER") {
		t.Errorf("subject %q", subject)
	}
	rule, _ := rules.FaultByID(rules.BurningReported)
	at := -1
	for _, part := range []string{"do not use it", rule.Looks, "switch off its breaker", "close its valve", "named qualified person", "555-0100", "about safety"} {
		i := strings.Index(text, part)
		if i < 0 {
			t.Errorf("it does not say %q:\n%s", part, text)
		}
		if part != "close its valve" && i < at {
			t.Errorf("%q comes too early", part)
		}
		at = max(at, i)
	}
	if strings.Contains(text, "no more of these") {
		t.Error("it offers to be rid of it")
	}
}
