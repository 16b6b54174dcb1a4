package mail

import (
	"errors"
	"io"
	"net/textproto"
	"testing"
)

func TestClassify(t *testing.T) {
	say := func(code int, msg string) error { return &textproto.Error{Code: code, Msg: msg} }
	for _, tc := range []struct {
		at           stage
		err          error
		kind         Kind
		ours, closed bool
	}{
		// No reply: only after the final dot is there a doubt.
		{atMail, io.EOF, Deferred, true, true},
		{atRcpt, io.ErrUnexpectedEOF, Deferred, true, true},
		{atBody, errors.New("broken pipe"), Deferred, true, true},
		{atDot, io.EOF, Unknown, true, true},
		{atDot, textproto.ProtocolError("short response"), Unknown, true, true},
		{atDot, say(354, "go on"), Unknown, true, true}, // out of step
		{atRcpt, say(354, "go on"), Deferred, true, true},
		// 421: RFC 5321 3.8 allows it at any time.
		{atMail, say(421, "4.3.2 closing"), Deferred, true, true},
		{atDot, say(421, "4.3.2 closing"), Deferred, true, true},
		// About the sender, that is, about us.
		{atMail, say(550, "5.7.1 sender not allowed"), Deferred, true, false},
		{atMail, say(451, "4.3.0 later"), Deferred, true, false},
		{atMail, say(503, "5.5.1 nested MAIL"), Deferred, true, true},
		{atRcpt, say(554, "5.7.1 <a@example.com>: Relay access denied"), Deferred, true, false},
		{atRcpt, say(530, "authentication required"), Deferred, true, false},
		// About the recipient.
		{atRcpt, say(550, "5.1.1 no such user"), Failed, false, false},
		{atRcpt, say(550, "no such user"), Failed, false, false},
		{atRcpt, say(552, "5.2.2 mailbox full"), Failed, false, false},
		{atRcpt, say(501, "5.1.3 bad address"), Failed, false, false},
		{atRcpt, say(450, "4.2.0 greylisted"), Deferred, false, false},
		{atRcpt, say(452, "4.3.1 out of space"), Deferred, true, false},
		// About the message.
		{atDot, say(554, "5.6.0 content not wanted"), Failed, true, false},
		{atDot, say(550, "5.1.1 no such user after all"), Failed, false, false},
		{atDot, say(554, "rejected"), Failed, false, false},
		{atDot, say(451, "4.3.0 later"), Deferred, true, false},
		{atDot, say(451, "later"), Deferred, false, false},
		{atData, say(554, "no valid recipients"), Failed, false, false},
	} {
		o := classify(tc.at, tc.err)
		if o.Kind != tc.kind || o.Ours != tc.ours || o.Closed != tc.closed || o.Reason == "" {
			t.Errorf("%s, %v: %+v", tc.at, tc.err, o)
		}
	}
}
