package vent

import "strconv"

// Role is what a person does here. Customers' contacts and occupants have none.
type Role string

// The roles of people who work here.
const (
	NoRole     Role = ""
	Owner      Role = "owner"
	Office     Role = "office"
	Technician Role = "technician"
)

// Channel is a way to reach a person.
type Channel string

// The channels.
const (
	ByMail    Channel = "mail"
	ByWebhook Channel = "webhook"
)

// Channels lists the channels.
func Channels() []Channel { return []Channel{ByMail, ByWebhook} }

// Consent is one yes or no that a person gave: for what, when and how. The newest per purpose counts.
type Consent struct {
	Purpose string  `json:"purpose" cbor:"1,keyasint"` // one of Purposes, or PurposeAll
	Given   bool    `json:"given" cbor:"2,keyasint"`
	At      Instant `json:"at" cbor:"3,keyasint"`
	How     string  `json:"how,omitempty" cbor:"4,keyasint,omitempty,omitzero"` // "one-click", "preference page", "complaint", "told the office"
}

// Person is somebody with an address: a customer's contact, the occupant of a unit, a technician, staff.
type Person struct {
	ID       ID        `json:"id" cbor:"1,keyasint"`
	Ref      string    `json:"ref,omitempty" cbor:"2,keyasint,omitempty,omitzero"` // the operator's own key
	Name     string    `json:"name" cbor:"3,keyasint"`
	Email    string    `json:"email,omitempty" cbor:"4,keyasint,omitempty,omitzero"`
	Phone    string    `json:"phone,omitempty" cbor:"5,keyasint,omitempty,omitzero"`
	Language string    `json:"language,omitempty" cbor:"6,keyasint,omitempty,omitzero"` // BCP 47; "" is the operator's
	Zone     string    `json:"zone,omitempty" cbor:"7,keyasint,omitempty,omitzero"`     // IANA zone for mail windows; "" is the operator's
	Role     Role      `json:"role,omitempty" cbor:"8,keyasint,omitempty,omitzero"`
	Channels []Channel `json:"channels,omitempty" cbor:"9,keyasint,omitempty,omitzero"` // empty is mail
	Consents []Consent `json:"consents,omitempty" cbor:"10,keyasint,omitempty,omitzero"`
	// Skills of a technician, for example "gas", "roof"; compared with what a visit needs.
	Skills []string `json:"skills,omitempty" cbor:"11,keyasint,omitempty,omitzero"`
	// Undeliverable says why mail to Email failed for good; "" while it works. A new Email clears it.
	Undeliverable string `json:"undeliverable,omitempty" cbor:"12,keyasint,omitempty,omitzero"`
	// FirstDays is how many days ahead the person asked to be told first; 0 is as the operator chose.
	FirstDays int `json:"first_days,omitempty" cbor:"13,keyasint,omitempty,omitzero"`
	// PausedUntil is the day from which the person wants reminders again; before it they get none.
	PausedUntil Date `json:"paused_until,omitzero" cbor:"14,keyasint,omitempty,omitzero"`
	// LinkEpoch counts how often the links in the person's mails were made void.
	LinkEpoch int `json:"link_epoch,omitempty" cbor:"15,keyasint,omitempty,omitzero"`
	// Hours are a technician's working hours, from leaving home to being back; the zero Week: the operator's usual ones.
	Hours Week `json:"work_hours,omitzero" cbor:"20,keyasint,omitempty,omitzero"`
	// Home is where a technician's day begins and ends; nil: not known.
	Home *Point `json:"home,omitempty" cbor:"21,keyasint,omitempty,omitzero"`
	// Leave are days on which a technician does not work.
	Leave []Leave `json:"leave,omitempty" cbor:"22,keyasint,omitempty,omitzero"`
	// RunMinutes is how long a technician takes for one run, TripMinutes what every trip takes beside its runs; 0: as usual.
	RunMinutes  int `json:"run_minutes,omitempty" cbor:"23,keyasint,omitempty,omitzero"`
	TripMinutes int `json:"trip_minutes,omitempty" cbor:"24,keyasint,omitempty,omitzero"`
	// MaxDues is the most that a technician does on one day; 0: as much as fits.
	MaxDues int `json:"max_dues,omitempty" cbor:"25,keyasint,omitempty,omitzero"`
}

// Point is a place on the Earth in degrees.
type Point struct {
	Lat float64 `json:"lat" cbor:"1,keyasint"`
	Lon float64 `json:"lon" cbor:"2,keyasint"`
}

// Leave is days on which somebody does not work, the first and the last included.
type Leave struct {
	From Date `json:"from" cbor:"1,keyasint"`
	To   Date `json:"to" cbor:"2,keyasint"`
}

// MakesVisits reports whether visits are planned for the person: technicians, and whoever else has working hours.
func (x Person) MakesVisits() bool { return x.Role == Technician || !x.Hours.IsZero() }

// Valid lists what is wrong with the person.
func (x Person) Valid() Problems {
	var p Problems
	ref(&p, x.Ref)
	required(&p, "name", x.Name)
	email(&p, "email", x.Email)
	text(&p, "phone", x.Phone)
	text(&p, "language", x.Language)
	zone(&p, "zone", x.Zone, false)
	oneOf(&p, "role", x.Role, NoRole, Owner, Office, Technician)
	for _, c := range x.Channels {
		oneOf(&p, "channels", c, ByMail, ByWebhook)
	}
	for _, s := range x.Skills {
		text(&p, "skills", s)
	}
	between(&p, "first_days", float64(x.FirstDays), 0, maxFirstDays)
	day(&p, "paused_until", x.PausedUntil, false)
	x.work(&p)
	return p
}

// work checks what is said of a technician's work.
func (x Person) work(p *Problems) {
	x.Hours.valid(p, "work_hours")
	if x.Home != nil {
		between(p, "home.lat", x.Home.Lat, -90, 90)
		between(p, "home.lon", x.Home.Lon, -180, 180)
	}
	for _, l := range x.Leave {
		day(p, "leave.from", l.From, true)
		day(p, "leave.to", l.To, true)
		if l.To < l.From || l.From.DaysUntil(l.To) > 731 {
			p.Add("leave.to", l.To.String(), "must be from %s to two years later", l.From)
		}
	}
	between(p, "run_minutes", float64(x.RunMinutes), 0, 24*60)
	between(p, "trip_minutes", float64(x.TripMinutes), 0, 24*60)
	between(p, "max_dues", float64(x.MaxDues), 0, 1000)
}

// Wants reports whether the person may be sent notices of the purpose: yes, unless the newest word on it,
// or on "all", was no.
func (x Person) Wants(purpose string) bool {
	given, at := true, Instant(0)
	for _, c := range x.Consents {
		if (c.Purpose == purpose || c.Purpose == PurposeAll) && c.At >= at {
			given, at = c.Given, c.At
		}
	}
	return given
}

// Approval is a customer's yes or no to a quote, or a standing limit for parts.
type Approval struct {
	On       Date   `json:"on" cbor:"1,keyasint"`
	What     string `json:"what" cbor:"2,keyasint"`
	Cents    int64  `json:"cents,omitempty" cbor:"3,keyasint,omitempty,omitzero"` // amount in hundredths of Currency
	Currency string `json:"currency,omitempty" cbor:"4,keyasint,omitempty,omitzero"`
	Accepted bool   `json:"accepted" cbor:"5,keyasint"`
	By       string `json:"by" cbor:"6,keyasint"` // who said so
}

// Customer is who pays and decides.
type Customer struct {
	ID        ID         `json:"id" cbor:"1,keyasint"`
	Ref       string     `json:"ref,omitempty" cbor:"2,keyasint,omitempty,omitzero"`
	Name      string     `json:"name" cbor:"3,keyasint"`
	Persons   []ID       `json:"persons,omitempty" cbor:"4,keyasint,omitempty,omitzero"` // contacts; the first is told first
	Approvals []Approval `json:"approvals,omitempty" cbor:"5,keyasint,omitempty,omitzero"`
	Units     UnitSystem `json:"units,omitempty" cbor:"6,keyasint,omitempty,omitzero"` // "" is the operator's
	Note      string     `json:"note,omitempty" cbor:"7,keyasint,omitempty,omitzero"`
	Ended     Date       `json:"ended,omitzero" cbor:"8,keyasint,omitempty,omitzero"` // no longer served from this day on
	// Reminders are the days on which this customer is reminded of what is due, counted from the due day: -14 is two weeks
	// before, 0 on the day, 7 a week late. Ascending; empty: as the operator does it.
	Reminders []int     `json:"reminders,omitempty" cbor:"9,keyasint,omitempty,omitzero"`
	Clock     ClockKind `json:"clock,omitempty" cbor:"10,keyasint,omitempty,omitzero"` // "" is the operator's
}

// Valid lists what is wrong with the customer.
func (x Customer) Valid() Problems {
	var p Problems
	ref(&p, x.Ref)
	required(&p, "name", x.Name)
	text(&p, "note", x.Note)
	oneOf(&p, "units", x.Units, "", US, SI)
	day(&p, "ended", x.Ended, false)
	oneOf(&p, "clock", x.Clock, "", Clock12, Clock24)
	reminders(&p, x.Reminders)
	return p
}

// The bounds of a ladder of reminders.
const (
	MostReminders     = 8   // of one due
	MostReminderDays  = 180 // before the due day
	MostReminderAfter = 365 // days late
)

func reminders(p *Problems, days []int) {
	if len(days) > MostReminders {
		p.Add("reminders", "", "has %d steps: %d are allowed", len(days), MostReminders)
	}
	for i, n := range days {
		between(p, "reminders", float64(n), -MostReminderDays, MostReminderAfter)
		if i > 0 && n <= days[i-1] {
			p.Add("reminders", strconv.Itoa(n), "does not come after %d, the one before it", days[i-1])
		}
	}
}
