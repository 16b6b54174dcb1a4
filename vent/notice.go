package vent

// NoticeKind is what a notice tells.
type NoticeKind string

// The kinds of notices.
const (
	NoticeRunDue         NoticeKind = "run_due"   // a run is to be looked at or cleaned
	NoticeCheckDue       NoticeKind = "check_due" // a recurring check
	NoticeFault          NoticeKind = "fault"     // a fault is to be put right by a day
	NoticeStop           NoticeKind = "stop"      // nobody uses the dryer
	NoticeVisitBooked    NoticeKind = "visit_booked"
	NoticeVisitMoved     NoticeKind = "visit_moved"
	NoticeVisitCancelled NoticeKind = "visit_cancelled"
	NoticeVisitSoon      NoticeKind = "visit_soon" // a booked visit comes near
	NoticeEntry          NoticeKind = "entry"      // to who lives there: somebody will come in
	NoticeRecord         NoticeKind = "record"     // what was found and done on a visit
	NoticeSummary        NoticeKind = "summary"    // to the operator: what needs somebody
)

// NoticeKinds lists the kinds in the order in which people are told of them.
func NoticeKinds() []NoticeKind {
	return []NoticeKind{NoticeRunDue, NoticeCheckDue, NoticeFault, NoticeStop, NoticeVisitBooked, NoticeVisitMoved, NoticeVisitCancelled,
		NoticeVisitSoon, NoticeEntry, NoticeRecord, NoticeSummary}
}

// NoticeKindOf gives the kind by which a due is told.
func NoticeKindOf(d Due) NoticeKind {
	switch {
	case d.Kind == DueFault && d.Severity == Stop:
		return NoticeStop
	case d.Kind == DueFault:
		return NoticeFault
	case d.Kind == DueCheck:
		return NoticeCheckDue
	}
	return NoticeRunDue
}

// MayRefuse reports whether a person can ask not to be told things of the kind. What was agreed with them and what is
// about safety is told all the same; the operator's summary is a setting. The others are the Purposes.
func (k NoticeKind) MayRefuse() bool {
	switch k {
	case NoticeStop, NoticeVisitBooked, NoticeVisitMoved, NoticeVisitCancelled, NoticeEntry, NoticeSummary:
		return false
	}
	return true
}

// NoticeState is where an obligation stands.
type NoticeState string

// The states of a notice.
const (
	NoticeWanted     NoticeState = "wanted"     // waits for its message
	NoticeSent       NoticeState = "sent"       // its message was accepted
	NoticeDropped    NoticeState = "dropped"    // no longer true or wanted before it was sent
	NoticeFailed     NoticeState = "failed"     // could not be delivered, for good
	NoticeSuppressed NoticeState = "suppressed" // the person's address failed before, or they said no
	NoticeUnsure     NoticeState = "unsure"     // handed over, but every answer was lost: it may have arrived
)

// Stands reports whether the person was told, is being told or may have been told. A notice that does not stand is
// wanted again as soon as its step is.
func (s NoticeState) Stands() bool {
	return s == NoticeWanted || s == NoticeSent || s == NoticeUnsure
}

// Step is one rung of the ladder of reminders for one due.
type Step string

// NoticeKey is the natural key of an obligation: whoever wants to tell this person this thing in this step wants
// the same notice, so that it is told once.
type NoticeKey struct {
	PersonID ID      `json:"person_id" cbor:"1,keyasint"`
	Thing    Subject `json:"thing" cbor:"2,keyasint"`  // the due, visit or fault
	Opener   ID      `json:"opener" cbor:"3,keyasint"` // what opened the thing's cycle
	Arm      int     `json:"arm" cbor:"4,keyasint"`
	Step     Step    `json:"step" cbor:"5,keyasint"`
	Channel  Channel `json:"channel" cbor:"6,keyasint"`
}

// Notice is an obligation to tell one person one thing.
type Notice struct {
	ID        ID          `json:"id" cbor:"1,keyasint"`
	Key       NoticeKey   `json:"key" cbor:"2,keyasint"`
	Kind      NoticeKind  `json:"kind" cbor:"3,keyasint"`
	State     NoticeState `json:"state" cbor:"4,keyasint"`
	Created   Instant     `json:"created" cbor:"5,keyasint"`
	MessageID ID          `json:"message_id,omitzero" cbor:"6,keyasint,omitempty,omitzero"`
	Why       string      `json:"why,omitempty" cbor:"7,keyasint,omitempty,omitzero"` // of dropped, failed, suppressed, unsure
	Settled   Instant     `json:"settled,omitzero" cbor:"8,keyasint,omitempty,omitzero"`
	Day       Date        `json:"day" cbor:"9,keyasint"` // the day that is told
	// Start is when a visit begins, in minutes after midnight at its place, as it is told.
	Start int `json:"start_minutes,omitempty" cbor:"10,keyasint,omitempty,omitzero"`
}

// Valid lists what is wrong with the notice.
func (n Notice) Valid() Problems {
	var p Problems
	if n.Key.PersonID.IsZero() || n.Key.Thing.ID.IsZero() {
		p.Add("key", "", "is incomplete: a notice tells a person a thing")
	}
	required(&p, "key.step", string(n.Key.Step))
	oneOf(&p, "key.channel", n.Key.Channel, ByMail, ByWebhook)
	required(&p, "kind", string(n.Kind))
	oneOf(&p, "state", n.State, NoticeWanted, NoticeSent, NoticeDropped, NoticeFailed, NoticeSuppressed, NoticeUnsure)
	return p
}

// MessageState is where a message stands.
type MessageState string

// The states of a message.
const (
	MessagePending    MessageState = "pending"
	MessageClaimed    MessageState = "claimed"  // an attempt was stored, its result not yet
	MessageAccepted   MessageState = "accepted" // a server took responsibility
	MessageDeferred   MessageState = "deferred" // will be tried again
	MessageFailed     MessageState = "failed"   // refused for good
	MessageSuppressed MessageState = "suppressed"
	MessageExpired    MessageState = "expired"
	MessageUnknown    MessageState = "unknown" // the answer after the data was lost: one more try
	MessageDropped    MessageState = "dropped" // nothing in it was true any more before the first attempt
)

// Message is what is actually sent: to one person, on one local day, by one channel, one class, carrying one
// or many notices. It is looked at again before every attempt, until one of them may have arrived: from then on it is frozen.
type Message struct {
	ID       ID           `json:"id" cbor:"1,keyasint"`
	PersonID ID           `json:"person_id" cbor:"2,keyasint"`
	On       Date         `json:"on" cbor:"3,keyasint"` // the person's local day on which it is, or was last, sent
	Channel  Channel      `json:"channel" cbor:"4,keyasint"`
	Class    string       `json:"class" cbor:"5,keyasint"` // "reminder", "visit", "record", "summary", "stop"
	To       string       `json:"to,omitempty" cbor:"6,keyasint,omitempty,omitzero"`
	Notices  []ID         `json:"notices" cbor:"7,keyasint"`
	State    MessageState `json:"state" cbor:"8,keyasint"`
	Created  Instant      `json:"created" cbor:"9,keyasint"`
	NotFor   Instant      `json:"not_before" cbor:"10,keyasint"` // when it may next be tried
	First    Instant      `json:"first_attempt,omitzero" cbor:"11,keyasint,omitempty,omitzero"`
	Last     Instant      `json:"last_attempt,omitzero" cbor:"12,keyasint,omitempty,omitzero"`
	Attempts int          `json:"attempts,omitempty" cbor:"13,keyasint,omitempty,omitzero"`
	Settled  Instant      `json:"settled,omitzero" cbor:"14,keyasint,omitempty,omitzero"`
	Answer   string       `json:"answer,omitempty" cbor:"15,keyasint,omitempty,omitzero"` // the last answer, in words
	// MailID is the Message-ID header without angle brackets, constant over retries.
	MailID string `json:"mail_id,omitempty" cbor:"16,keyasint,omitempty,omitzero"`
	// Thread is the Message-ID of the thread's root.
	Thread string `json:"thread,omitempty" cbor:"17,keyasint,omitempty,omitzero"`
	// Raw is the message as it goes out, while an attempt runs and as long as one of them may have arrived.
	Raw []byte `json:"raw,omitempty" cbor:"18,keyasint,omitempty,omitzero"`
	// Unknowns counts attempts of which nobody knows what became: the answer, or our record of it, was lost.
	Unknowns int     `json:"unknowns,omitempty" cbor:"19,keyasint,omitempty,omitzero"`
	Expires  Instant `json:"expires" cbor:"20,keyasint"` // not tried after it, once it was tried
	// Returned is when a server reported back on the message after it was accepted, ReturnKind what, ReturnWhy in its words.
	Returned   Instant    `json:"returned,omitzero" cbor:"24,keyasint,omitempty,omitzero"`
	ReturnKind ReturnKind `json:"return_kind,omitempty" cbor:"25,keyasint,omitempty,omitzero"`
	ReturnWhy  string     `json:"return_why,omitempty" cbor:"26,keyasint,omitempty,omitzero"`
	// Orphaned counts those of the Unknowns that were left behind by a process that ended: most of them never left the house,
	// so that they do not use up the one more try that a lost answer gets.
	Orphaned int `json:"orphaned,omitempty" cbor:"27,keyasint,omitempty,omitzero"`
	// Held is the local day on which a limit of mails a day last held it back; none: it never did.
	Held Date `json:"held,omitzero" cbor:"21,keyasint,omitempty,omitzero"`
}

// ReturnKind is what a mail server reported back on a message that was accepted.
type ReturnKind string

// The kinds of reports.
const (
	ReturnedBounce    ReturnKind = "bounced"   // it could not be delivered, for good
	ReturnedDelay     ReturnKind = "delayed"   // it could not be delivered so far
	ReturnedComplaint ReturnKind = "complaint" // the person told their mail provider that they do not want it
)

// Waits reports whether the message can still take notices and be written anew: nothing of it can have arrived.
func (m Message) Waits() bool {
	return (m.State == MessagePending || m.State == MessageDeferred) && m.Unknowns == 0
}

// MayHaveArrived reports whether the person has, or may have, the message.
func (m Message) MayHaveArrived() bool {
	return m.State == MessageAccepted || m.State == MessageClaimed || m.Unknowns > 0
}

// Valid lists what is wrong with the message.
func (m Message) Valid() Problems {
	var p Problems
	if m.PersonID.IsZero() {
		p.Add("person_id", "", "is missing: a message goes to a person")
	}
	day(&p, "on", m.On, true)
	oneOf(&p, "channel", m.Channel, ByMail, ByWebhook)
	required(&p, "class", m.Class)
	if m.Channel == ByMail {
		email(&p, "to", m.To)
	}
	oneOf(&p, "state", m.State, MessagePending, MessageClaimed, MessageAccepted, MessageDeferred, MessageFailed,
		MessageSuppressed, MessageExpired, MessageUnknown, MessageDropped)
	return p
}

// Settled reports whether nothing more will happen to a message in the state.
func (s MessageState) Settled() bool {
	switch s {
	case MessagePending, MessageClaimed, MessageDeferred, MessageUnknown:
		return false
	}
	return true
}
