package notify

import (
	"strings"
	"time"

	"ventdue/desk"
	"ventdue/desk/wording"
	"ventdue/notify/mail"
)

// choices gives the ways by which a person is rid of reminders or chooses among them: the small link at the foot of the
// letter and, where the pages are reached by https, the one click of mail programs (RFC 8058). Without pages the letter says
// that it can be answered. A stop offers neither: nobody can be without it. What is
// confirmed offers the link alone.
func (s Sender) choices(w wording.Words, r desk.Reminder) (links []mail.Button, oneClick *mail.Unsubscribe) {
	if r.Stop() || s.Pages == "" || !s.Choices.Ready() {
		return nil, nil
	}
	address := s.Pages + s.Choices.Path(r.Person, r.Written.DateIn(time.UTC))
	if r.OneClick() && strings.HasPrefix(address, "https://") {
		oneClick = &mail.Unsubscribe{URL: address}
	}
	return []mail.Button{{Label: w.Say("mail.choices"), URL: address}}, oneClick
}
