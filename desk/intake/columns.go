package intake

import (
	"slices"
	"sync"

	"ventdue/vent"
)

// Column is one documented column.
type Column struct {
	Name    string
	Part    Part
	Meaning string
	Example string
	// Required says that every row must have it, but for rows that only name what is stored by its *_ref.
	Required bool

	kind kind
	set  func(*Draft, Value)
	// field is the name under which the noun's Valid speaks of it, where that is another.
	field string
}

// Form says what a cell holds: "text", "date", "one of electric, gas, ventless", "length".
func (c *Column) Form() string { return c.kind.name }

// Unit gives the unit of a plain number in a system of units; "" for what has no unit.
func (c *Column) Unit(u vent.UnitSystem) string {
	if u == vent.SI {
		return c.kind.si
	}
	return c.kind.us
}

// Base gives the unit in which figures of the column are kept, and in which the noun speaks of them; "" for none.
func (c *Column) Base() string { return c.kind.base }

// Choices gives the words that the column takes, nil where it takes others.
func (c *Column) Choices() []string { return c.kind.choices }

// Field gives the name under which the noun speaks of the column when it says what is wrong.
func (c *Column) Field() string {
	if c.field != "" {
		return c.field
	}
	return c.Name
}

// table builds the columns once: they are constants that Go cannot write as such.
var table = sync.OnceValue(func() []Column {
	all := slices.Concat(customerColumns(), siteColumns(), unitColumns(), dryerColumns(), runColumns(), cleaningColumns())
	return all
})

var byName = sync.OnceValue(func() map[string]int {
	m := make(map[string]int, len(table()))
	for i, c := range table() {
		m[c.Name] = i
	}
	return m
})

// Columns gives the documented columns in their order.
func Columns() []Column { return slices.Clone(table()) }

// ColumnNames gives the documented names in their order.
func ColumnNames() []string {
	names := make([]string, len(table()))
	for i, c := range table() {
		names[i] = c.Name
	}
	return names
}

// Column gives the column of a part of which a noun's Valid speaks as field; nil when it has none.
func (p Part) Column(field string) *Column {
	t := table()
	for i := range t {
		if t[i].Part == p && t[i].Field() == field {
			return &t[i]
		}
	}
	return nil
}

func customerColumns() []Column {
	return []Column{
		{Name: "customer_ref", Part: OfCustomer, Meaning: "your own key of the customer", Example: "C-104", kind: textKind(),
			field: "ref", set: func(d *Draft, v Value) { d.Customer.Ref = v.Text }},
		{Name: "customer_name", Part: OfCustomer, Meaning: "who pays and decides", Example: "Rosa Lindqvist", kind: textKind(),
			field: "name", Required: true, set: func(d *Draft, v Value) { d.Customer.Name = v.Text }},
		{Name: "customer_note", Part: OfCustomer, Meaning: "anything to remember about the customer", Example: "call before eight", kind: noteKind(),
			field: "note", set: func(d *Draft, v Value) { d.Customer.Note = v.Text }},
		{Name: "customer_reminders", Part: OfCustomer, Meaning: "days on which this customer is reminded: before the due day, with a plus after it; without it as you set it for all", Example: "45 21 7 0 +14", kind: reminderKind(),
			field: "reminders", set: func(d *Draft, v Value) { d.Customer.Reminders, _ = reminderDays(v.Text) }}, // it was read before
		{Name: "customer_clock", Part: OfCustomer, Meaning: "how times of day are written to this customer; without it as to all", Example: "24h", kind: choiceKind(string(vent.Clock12), string(vent.Clock24)),
			field: "clock", set: func(d *Draft, v Value) { d.Customer.Clock = vent.ClockKind(v.Text) }},
		{Name: "contact_ref", Part: OfContact, Meaning: "your own key of the contact", Example: "P-9", kind: textKind(),
			field: "ref", set: func(d *Draft, v Value) { d.Contact.Ref = v.Text }},
		{Name: "contact_name", Part: OfContact, Meaning: "whom to tell; without it the customer's name stands", Example: "Rosa Lindqvist", kind: textKind(),
			field: "name", set: func(d *Draft, v Value) { d.Contact.Name = v.Text }},
		{Name: "contact_email", Part: OfContact, Meaning: "where reminders go", Example: "rosa@example.com", kind: textKind(),
			field: "email", set: func(d *Draft, v Value) { d.Contact.Email = v.Text }},
		{Name: "contact_phone", Part: OfContact, Meaning: "telephone", Example: "555-0142", kind: textKind(),
			field: "phone", set: func(d *Draft, v Value) { d.Contact.Phone = v.Text }},
		{Name: "contact_language", Part: OfContact, Meaning: "language of the mails, as a BCP 47 tag", Example: "en", kind: textKind(),
			field: "language", set: func(d *Draft, v Value) { d.Contact.Language = v.Text }},
	}
}

func siteColumns() []Column {
	lat := func(v Value) *float64 { return &v.Number }
	return []Column{
		{Name: "site_ref", Part: OfSite, Meaning: "your own key of the building", Example: "B-12", kind: textKind(),
			field: "ref", set: func(d *Draft, v Value) { d.Site.Ref = v.Text }},
		{Name: "site_name", Part: OfSite, Meaning: "the building's name; without it the address stands", Example: "Heron House", kind: textKind(),
			field: "name", set: func(d *Draft, v Value) { d.Site.Name = v.Text }},
		{Name: "address", Part: OfSite, Meaning: "where it is", Example: "12 Heron Lane, Springfield", kind: noteKind(),
			set: func(d *Draft, v Value) { d.Site.Address = v.Text }},
		{Name: "zone", Part: OfSite, Meaning: "IANA time zone; without it yours", Example: "America/Chicago", kind: textKind(),
			set: func(d *Draft, v Value) { d.Site.Zone = v.Text }},
		{Name: "lat", Part: OfSite, Meaning: "latitude in degrees, north positive", Example: "41.88", kind: numberKind(-90, 90),
			set: func(d *Draft, v Value) { d.Site.Lat = lat(v) }},
		{Name: "lon", Part: OfSite, Meaning: "longitude in degrees, east positive", Example: "-87.63", kind: numberKind(-180, 180),
			set: func(d *Draft, v Value) { d.Site.Lon = lat(v) }},
		{Name: "access_note", Part: OfSite, Meaning: "how to get in", Example: "side door", kind: noteKind(),
			set: func(d *Draft, v Value) { d.Site.Access.Note = v.Text }},
		{Name: "access_keys", Part: OfSite, Meaning: "where the keys are", Example: "with the caretaker", kind: noteKind(),
			set: func(d *Draft, v Value) { d.Site.Access.Keys = v.Text }},
		{Name: "access_codes", Part: OfSite, Meaning: "door codes; shown to the assigned technician on the day only", Example: "4711#", kind: noteKind(),
			set: func(d *Draft, v Value) { d.Site.Access.Codes = v.Text }},
		{Name: "parking", Part: OfSite, Meaning: "where to park", Example: "yard at the rear", kind: noteKind(),
			set: func(d *Draft, v Value) { d.Site.Access.Parking = v.Text }},
		{Name: "dog", Part: OfSite, Meaning: "a dog is there", Example: "no", kind: yesNoKind(),
			set: func(d *Draft, v Value) { d.Site.Access.Dog = v.Yes() }},
		{Name: "ladder", Part: OfSite, Meaning: "a ladder is needed", Example: "yes", kind: yesNoKind(),
			set: func(d *Draft, v Value) { d.Site.Access.Ladder = v.Yes() }},
		{Name: "roof_access", Part: OfSite, Meaning: "somebody must go on the roof", Example: "no", kind: yesNoKind(),
			set: func(d *Draft, v Value) { d.Site.Access.Roof = v.Yes() }},
		{Name: "notice_days", Part: OfSite, Meaning: "days before an entry on which occupants are told; local law decides what is enough", Example: "2", kind: countKind(0, 365),
			set: func(d *Draft, v Value) { d.Site.NoticeDays = int(v.Number) }},
		{Name: "access_hours", Part: OfSite, Meaning: "hours in which somebody can get in; without it any", Example: "mon-fri 08:00-16:00", kind: hoursKind(),
			set: func(d *Draft, v Value) { d.Site.Hours, _ = vent.ParseWeek(v.Text) }},
		{Name: "closed_days", Part: OfSite, Meaning: "days on which nobody gets in", Example: "2026-12-24, 2026-12-25", kind: datesKind(),
			set: func(d *Draft, v Value) { d.Site.Closed, _ = readDates(v.Text) }},
		{Name: "preferred_days", Part: OfSite, Meaning: "weekdays asked for where there is a choice", Example: "tue,thu", kind: weekdaysKind(),
			set: func(d *Draft, v Value) { d.Site.Prefer, _ = vent.ParseWeekdays(v.Text) }},
		{Name: "whole_building", Part: OfSite, Meaning: "do the whole building in one go, as far as days allow", Example: "yes", kind: yesNoKind(),
			set: func(d *Draft, v Value) { d.Site.Whole = v.Yes() }},
	}
}

func unitColumns() []Column {
	return []Column{
		{Name: "unit_ref", Part: OfUnit, Meaning: "your own key of the door", Example: "B-12/3B", kind: textKind(),
			field: "ref", set: func(d *Draft, v Value) { d.Unit.Ref = v.Text }},
		{Name: "unit_name", Part: OfUnit, Meaning: "flat, house or laundry room; without it the site's name stands", Example: "3B", kind: textKind(),
			field: "name", set: func(d *Draft, v Value) { d.Unit.Name = v.Text }},
		{Name: "unit_kind", Part: OfUnit, Meaning: "what kind of door; without it house for the only door of a site without a number in its name, else flat", Example: "flat",
			kind: choiceKind(choicesOf([]vent.UnitKind{vent.Flat, vent.House, vent.LaundryRoom, vent.OtherUnit})...), field: "kind",
			set: func(d *Draft, v Value) { d.Unit.Kind = vent.UnitKind(v.Text) }},
		{Name: "floor", Part: OfUnit, Meaning: "which floor", Example: "3", kind: textKind(),
			set: func(d *Draft, v Value) { d.Unit.Floor = v.Text }},
		{Name: "bedrooms", Part: OfUnit, Meaning: "number of bedrooms, from which loads are estimated", Example: "2", kind: countKind(0, 50),
			set: func(d *Draft, v Value) { d.Unit.Bedrooms = int(v.Number) }},
		{Name: "people", Part: OfUnit, Meaning: "how many live there", Example: "3", kind: countKind(0, 100),
			set: func(d *Draft, v Value) { d.Unit.People = int(v.Number) }},
		{Name: "pets", Part: OfUnit, Meaning: "animals with fur live there", Example: "yes", kind: yesNoKind(),
			set: func(d *Draft, v Value) { d.Unit.Pets = v.Yes() }},
		{Name: "dryer_sheets", Part: OfUnit, Meaning: "fabric softener sheets are used", Example: "no", kind: yesNoKind(),
			set: func(d *Draft, v Value) { d.Unit.DryerSheets = v.Yes() }},
		{Name: "washer_volume", Part: OfUnit, Meaning: "volume of the washer's drum", Example: "4.5 cu ft", kind: volumeKind(),
			field: "washer_m3", set: func(d *Draft, v Value) { d.Unit.WasherVolume = v.Number }},
		{Name: "smoke_alarm_made", Part: OfUnit, Meaning: "day of manufacture on the back of the unit's smoke alarm: it is replaced after 10 years", Example: "2021-05-01", kind: dateKind(),
			set: func(d *Draft, v Value) { d.Smoke.Made = v.Date() }},
		{Name: "smoke_alarm_replace_by", Part: OfUnit, Meaning: "the maker's own date for the smoke alarm's replacement, where its back names one", Example: "2031-05-01", kind: dateKind(),
			set: func(d *Draft, v Value) { d.Smoke.Replace = v.Date() }},
		{Name: "co_alarm_made", Part: OfUnit, Meaning: "day of manufacture on the back of the unit's carbon monoxide alarm: it is replaced after 7 years", Example: "2022-09-01", kind: dateKind(),
			set: func(d *Draft, v Value) { d.CO.Made = v.Date() }},
		{Name: "co_alarm_replace_by", Part: OfUnit, Meaning: "the maker's own date for the CO alarm's replacement, where its back names one", Example: "2029-09-01", kind: dateKind(),
			set: func(d *Draft, v Value) { d.CO.Replace = v.Date() }},
		{Name: "occupant_name", Part: OfOccupant, Meaning: `who lives there; "vacant" when nobody does`, Example: "Tomas Okafor", kind: textKind(),
			field: "name", set: func(d *Draft, v Value) {
				d.Occupant.Name, d.Vacant = v.Text, vacant(v.Text)
			}},
		{Name: "occupant_email", Part: OfOccupant, Meaning: "the occupant's address", Example: "tomas@example.com", kind: textKind(),
			field: "email", set: func(d *Draft, v Value) { d.Occupant.Email = v.Text }},
		{Name: "occupant_phone", Part: OfOccupant, Meaning: "the occupant's telephone", Example: "555-0177", kind: textKind(),
			field: "phone", set: func(d *Draft, v Value) { d.Occupant.Phone = v.Text }},
		{Name: "occupant_since", Part: OfOccupant, Meaning: "first day there (or first day vacant); without it the day of the import", Example: "2024-08-01", kind: dateKind(),
			set: func(d *Draft, v Value) { d.Since = v.Date() }},
	}
}
