package main

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"ventdue/desk"
	"ventdue/desk/wording"
	"ventdue/vent"
)

// TestMailWhySaysItInWords keeps machine words out of what a person reads.
func TestMailWhySaysItInWords(t *testing.T) {
	var out bytes.Buffer
	a := &app{stdio: stdio{Out: &out}}
	history := desk.MailHistory{Messages: []desk.ToldMessage{{
		On: vent.NewDate(2026, 11, 25), To: "ana.rivera@example.com", State: vent.MessageDeferred, Attempts: 2, Answer: "451 try later",
		Notices: []desk.ToldNotice{
			{What: "clean Dryer vent", Step: "7_days", State: vent.NoticeWanted},
			{What: "clean Dryer vent", Step: "14_days_late", State: vent.NoticeSuppressed, Why: "wants no mail"},
		},
	}}}
	err := a.printMail(wording.For("en", vent.US).MailStory(history, vent.NewDate(2026, 11, 26), time.UTC))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"to be tried again", "451 try later", "(7 days before): waits for its mail", "(14 days after the day): not sent (wants no mail)"} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("%q does not say %q", out.String(), want)
		}
	}
	for _, machine := range []string{"_days", "deferred", "suppressed", "wanted"} {
		if strings.Contains(out.String(), machine) {
			t.Errorf("%q says %q", out.String(), machine)
		}
	}
}
