package visits

import (
	"time"

	"ventdue/vent"
)

// Skills that work on a dryer may need. A technician may have others by any name.
const (
	SkillGas  = "gas"  // licensed to move a gas dryer and to open its connection
	SkillPair = "pair" // comes as two people: a stacked pair is never lifted alone
	SkillRoof = "roof" // equipped and trained for work on a roof
)

// Span is a part of one day in minutes after local midnight.
type Span = vent.Span

// Week gives the hours of each day of the week, indexed by time.Weekday (Sunday is 0).
type Week vent.Week

// Place is a point on the Earth in degrees.
type Place struct {
	Lat float64 `json:"lat"`
	Lon float64 `json:"lon"`
}

// Due is one thing to do at one site within a window of days.
type Due struct {
	ID     vent.ID
	SiteID vent.ID
	UnitID vent.ID // the door, where there is one: a turnover pulls in what is due behind it
	Kind   vent.DueKind
	// Earliest, Day and Latest are the window; a missing Earliest or Latest is Day.
	Earliest, Day, Latest vent.Date
	// Floor is a day before which even a turnover does not pull it, for example 30 days after a full cleaning; none: no such day.
	Floor vent.Date
	// Minutes of work; 0: what the technician takes for one run.
	Minutes int
	// Skills that whoever comes must have, all of them.
	Skills []string
	// Stop marks a dryer that nobody may use until somebody came.
	Stop bool
	// Chance of being past the limit on Day, 0 to 1: the likelier, the sooner.
	Chance float64
	// Waived: the site's notice days do not hold for this due, for example because its occupant asked for the visit.
	Waived bool
	// Every is how many days after it was done it is due again, 0 for once. Only LookAhead counts on it.
	Every int
}

// Site is a building and when it can be entered.
type Site struct {
	ID    vent.ID
	Place *Place // nil: not known
	// Access are the hours in which a visit may lie, in the site's time; the zero Week: any time.
	Access Week
	// NoticeDays is how many days before an entry occupants are told: nothing is proposed sooner. Local law decides what is enough.
	NoticeDays int
	// Closed are days on which nobody gets in.
	Closed []vent.Date
	// Zone is the site's time zone; nil: that of whoever comes.
	Zone *time.Location
	// Prefer are weekdays asked for where there is a choice; none: all alike.
	Prefer []time.Weekday
	// Whole asks for the whole building in one go: on one day, or days that follow each other.
	Whole bool
}

// Technician is somebody, or a crew of two, who makes visits.
type Technician struct {
	ID vent.ID
	// Hours of work, in the technician's time, from leaving home to being back.
	Hours Week
	// Off are days without work: public holidays, leave.
	Off    []vent.Date
	Skills []string
	Home   *Place // where the day begins and ends; nil: not known
	// RunMinutes is how long one due takes that states no minutes, TripMinutes what every trip takes beside its dues.
	RunMinutes, TripMinutes int
	// MaxDues is the most dues on one day; 0: as many as fit.
	MaxDues int
	Zone    *time.Location // nil: that of the sites
}

// Visit is one technician at one site on one day, and what is done there.
type Visit struct {
	TechnicianID vent.ID `json:"technician_id"`
	// SiteID is none for a block of time without a site (an office hour, a repair of the van), reckoned at the technician's home.
	SiteID vent.ID   `json:"site_id,omitzero"`
	On     vent.Date `json:"on"`
	// Start is in minutes after midnight in the site's time, Minutes how long it takes.
	Start   int       `json:"start_minutes"`
	Minutes int       `json:"minutes"`
	Dues    []vent.ID `json:"dues,omitempty"`
	// Drive is how many minutes it takes to get there from the stop before; only a Schedule sets it.
	Drive int `json:"drive_minutes,omitempty"`
}

// OpenTurnover is for how many days a unit is taken to stand empty where nobody knows who moves in when.
const OpenTurnover = 14

// Turnover is a unit standing empty: the best days to work in it.
type Turnover struct {
	UnitID vent.ID
	From   vent.Date // first empty day
	To     vent.Date // first day no longer empty; none: not known, then two weeks
}

// Travel says how long it takes from place to place: great-circle distance x Factor / KmPerHour, in whole minutes, rounded up.
type Travel struct {
	Factor    float64 // road over great circle, 1 to 5
	KmPerHour float64 // above 0 to 200
	// Unknown is the minutes to or from a place whose coordinates are not known.
	Unknown int
}

// Policy is how an operator wants visits planned.
type Policy struct {
	Travel Travel
	// CatchUp is within how many days a due whose window is already over is still done as if in time, CatchUpStop the same for stops.
	CatchUp, CatchUpStop int
	// TurnoverDays: a turnover pulls in what is due within so many days of its start.
	TurnoverDays int
	// Grid: visits start at multiples of so many minutes, 1 to 60.
	Grid int
	// Effort bounds the search: so many trial changes at least, and one more for every few dues.
	Effort int
}

// DefaultPolicy is the policy of an operator who set nothing. The factor 1.3 is a common ratio of road to great-circle
// distance in towns; the speed is door to door; both are common practice, not measured here.
func DefaultPolicy() Policy {
	return Policy{
		Travel:  Travel{Factor: 1.3, KmPerHour: 40, Unknown: 20},
		CatchUp: 14, CatchUpStop: 2, TurnoverDays: 90, Grid: 5, Effort: 1500,
	}
}

// Problem is everything a plan depends on.
type Problem struct {
	Today vent.Date // the first day that may be planned
	Last  vent.Date // the last; a due that may wait beyond it is done before only where that costs no trip
	Dues  []Due
	Sites []Site
	// Technicians, in an order that stays: one more at the end never makes more dues late.
	Technicians []Technician
	// Frozen visits stay as they are: booked, told, held for somebody, or a block without a site.
	Frozen []Visit
	// Previous are the visits proposed before. The plan starts from them and says what moved.
	Previous  []Visit
	Turnovers []Turnover
	Policy    Policy
}
