package desk

import (
	"cmp"
	"fmt"
	"slices"

	"ventdue/store"
	"ventdue/vent"
)

// reachable says why the person cannot or must not be told things of a class by the channel of the moment; "" when they can.
func (l *listener) reachable(class string) string {
	return reachableBy(l.channel, l.person, class, l.hook)
}

// reachableBy says why a person cannot or must not be told things of a class by a channel. A webhook reaches those whose
// channels name it.
func reachableBy(channel vent.Channel, p vent.Person, class string, hook bool) string {
	if channel != vent.ByWebhook {
		return reachableFor(p, class)
	}
	switch {
	case !slices.Contains(p.Channels, vent.ByWebhook):
		return "is not told by webhook"
	case !hook:
		return "no webhook is set (webhook.url)"
	case class != classStop && !wantsAny(p, class):
		return "asked not to be reminded"
	}
	return ""
}

// addressFor gives where a person is reached by a channel. What a webhook does with a message is its receiver's to know.
func addressFor(p vent.Person, channel vent.Channel) string {
	if channel == vent.ByWebhook {
		return cmp.Or(p.Phone, "webhook")
	}
	return p.Email
}

// SetChannels says by which ways a person is told; none is by mail.
func (d *Desk) SetChannels(by By, person vent.ID, channels ...vent.Channel) (p vent.Person, err error) {
	err = d.store.Update(by, func(tx *store.Tx) error {
		if p, err = store.Persons.Get(tx, person); err != nil {
			return err
		}
		p.Channels = channels
		if err := p.Valid().Err(); err != nil {
			return err
		}
		return store.Persons.Put(tx, p, fmt.Sprintf("told by %v", channels))
	})
	if err == nil {
		d.kick(JobTell)
	}
	return p, err
}
