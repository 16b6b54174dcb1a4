package wording

import (
	"strings"
	"testing"

	"ventdue/vent"
)

// The wanted texts are what a person would say of each step.
func TestStep(t *testing.T) {
	for step, want := range map[vent.Step]string{
		"30_days": "30 days before", "7_days": "7 days before", "on_the_day": "on the day", "1_days": "a day before", "14_days_late": "14 days after the day",
		"stop_1_2026-11-25": "do not use the dryer, told on Wed 25 November 2026", // a Wednesday: ISO 8601 calendar
		"a_word_of_ours":    "a word of ours", "x_days": "x days", "stop_1_soon": "stop 1 soon",
	} {
		if got := For("en", vent.US).Step(step); got != want {
			t.Errorf("%s: %q, want %q", step, got, want)
		}
	}
	if got := For("es", vent.US).Step("7_days"); got != "7 días antes" {
		t.Errorf("in Spanish %q", got)
	}
}

func TestEveryStateHasWords(t *testing.T) {
	for _, lang := range Languages() {
		w := For(lang, vent.US)
		for _, s := range []vent.NoticeState{vent.NoticeWanted, vent.NoticeSent, vent.NoticeDropped, vent.NoticeFailed, vent.NoticeSuppressed, vent.NoticeUnsure} {
			if got := w.Notice(s); got == "" || strings.Contains(got, "notice.") {
				t.Errorf("%s: notice %s is %q", lang, s, got)
			}
		}
		for _, s := range []vent.MessageState{vent.MessagePending, vent.MessageClaimed, vent.MessageAccepted, vent.MessageDeferred, vent.MessageFailed,
			vent.MessageSuppressed, vent.MessageExpired, vent.MessageUnknown, vent.MessageDropped} {
			if got := w.Message(s); got == "" || strings.Contains(got, "message.") {
				t.Errorf("%s: message %s is %q", lang, s, got)
			}
		}
	}
}
