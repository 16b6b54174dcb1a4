package vent

// Access says how to get in. Codes are for the assigned technician on the day only; whoever shows an Access to
// anybody else uses Public.
type Access struct {
	Note    string `json:"note,omitempty" cbor:"1,keyasint,omitempty,omitzero"`
	Keys    string `json:"keys,omitempty" cbor:"2,keyasint,omitempty,omitzero"`
	Codes   string `json:"codes,omitempty" cbor:"3,keyasint,omitempty,omitzero"`
	Dog     bool   `json:"dog,omitempty" cbor:"4,keyasint,omitempty,omitzero"`
	Ladder  bool   `json:"ladder,omitempty" cbor:"5,keyasint,omitempty,omitzero"`
	Roof    bool   `json:"roof,omitempty" cbor:"6,keyasint,omitempty,omitzero"`
	Parking string `json:"parking,omitempty" cbor:"7,keyasint,omitempty,omitzero"`
}

// Public gives what anybody who works with the site may see: everything but codes and keys.
func (a Access) Public() Access {
	a.Codes, a.Keys = "", ""
	return a
}

// Site is a building: where work happens.
type Site struct {
	ID         ID       `json:"id" cbor:"1,keyasint"`
	Ref        string   `json:"ref,omitempty" cbor:"2,keyasint,omitempty,omitzero"`
	CustomerID ID       `json:"customer_id" cbor:"3,keyasint"`
	Name       string   `json:"name" cbor:"4,keyasint"`
	Address    string   `json:"address,omitempty" cbor:"5,keyasint,omitempty,omitzero"`
	Zone       string   `json:"zone" cbor:"6,keyasint"` // IANA zone
	Lat        *float64 `json:"lat,omitempty" cbor:"7,keyasint,omitempty,omitzero"`
	Lon        *float64 `json:"lon,omitempty" cbor:"8,keyasint,omitempty,omitzero"`
	Access     Access   `json:"access,omitzero" cbor:"9,keyasint,omitempty,omitzero"`
	// NoticeDays is how many days before an entry the occupants are told; local law decides what is enough.
	NoticeDays int `json:"notice_days,omitempty" cbor:"10,keyasint,omitempty,omitzero"`
	// Hours are those in which somebody can get in, in the site's time; the zero Week: any time.
	Hours Week `json:"access_hours,omitzero" cbor:"11,keyasint,omitempty,omitzero"`
	// Closed are days on which nobody gets in.
	Closed []Date `json:"closed_days,omitempty" cbor:"12,keyasint,omitempty,omitzero"`
	// Prefer are the weekdays asked for where there is a choice.
	Prefer Weekdays `json:"preferred_days,omitzero" cbor:"13,keyasint,omitempty,omitzero"`
	// Whole asks for the whole building in one go.
	Whole bool `json:"whole_building,omitempty" cbor:"14,keyasint,omitempty,omitzero"`
	// Wishes are the days that somebody asked for in words, oldest first, until a visit is booked.
	Wishes []Wish `json:"wishes,omitempty" cbor:"15,keyasint,omitempty,omitzero"`
}

// Wish is what somebody proposed in words because no offered time did: "any Saturday in May".
type Wish struct {
	UnitID ID      `json:"unit_id,omitzero" cbor:"1,keyasint,omitempty,omitzero"` // whose door; none: the building's
	Text   string  `json:"text" cbor:"2,keyasint"`
	By     string  `json:"by" cbor:"3,keyasint"`
	At     Instant `json:"at" cbor:"4,keyasint"`
}

// maxWishes is how many wishes a site keeps: the newest count.
const maxWishes = 20

// WithWish gives the site with one more wish, which takes the place of an older one of the same door.
func (x Site) WithWish(w Wish) Site {
	x.Wishes = append(x.WithoutWishes(w.UnitID).Wishes, w)
	if n := len(x.Wishes) - maxWishes; n > 0 {
		x.Wishes = x.Wishes[n:]
	}
	return x
}

// WithoutWishes gives the site without the wishes of a door; those of the building itself for no door.
func (x Site) WithoutWishes(unit ID) Site {
	kept := make([]Wish, 0, len(x.Wishes)+1)
	for _, w := range x.Wishes {
		if w.UnitID != unit {
			kept = append(kept, w)
		}
	}
	x.Wishes = kept
	return x
}

// Valid lists what is wrong with the site.
func (x Site) Valid() Problems {
	var p Problems
	ref(&p, x.Ref)
	required(&p, "name", x.Name)
	text(&p, "address", x.Address)
	for _, s := range []string{x.Access.Note, x.Access.Keys, x.Access.Codes, x.Access.Parking} {
		text(&p, "access", s)
	}
	zone(&p, "zone", x.Zone, true)
	between(&p, "notice_days", float64(x.NoticeDays), 0, 365)
	if (x.Lat == nil) != (x.Lon == nil) {
		p.Add("lat", "", "latitude and longitude go together: give both or neither")
	}
	if x.Lat != nil && x.Lon != nil {
		between(&p, "lat", *x.Lat, -90, 90)
		between(&p, "lon", *x.Lon, -180, 180)
	}
	x.Hours.valid(&p, "access_hours")
	for _, d := range x.Closed {
		day(&p, "closed_days", d, true)
	}
	for _, w := range x.Wishes {
		required(&p, "wishes.text", w.Text)
		text(&p, "wishes.by", w.By)
	}
	return p
}

// UnitKind is what kind of door a unit is.
type UnitKind string

// The kinds of units.
const (
	Flat        UnitKind = "flat"
	House       UnitKind = "house"
	LaundryRoom UnitKind = "laundry_room"
	OtherUnit   UnitKind = "other"
)

// Occupancy says who lives behind a door, from when until when. A unit is empty between occupancies only
// where one with no person says so.
type Occupancy struct {
	PersonID ID   `json:"person_id,omitzero" cbor:"1,keyasint,omitempty,omitzero"` // none: empty
	From     Date `json:"from" cbor:"2,keyasint"`
	To       Date `json:"to,omitzero" cbor:"3,keyasint,omitempty,omitzero"` // first day no longer; none: still there
}

// Unit is a door inside a site.
type Unit struct {
	ID           ID          `json:"id" cbor:"1,keyasint"`
	Ref          string      `json:"ref,omitempty" cbor:"2,keyasint,omitempty,omitzero"`
	SiteID       ID          `json:"site_id" cbor:"3,keyasint"`
	Kind         UnitKind    `json:"kind" cbor:"4,keyasint"`
	Name         string      `json:"name" cbor:"5,keyasint"`
	Floor        string      `json:"floor,omitempty" cbor:"6,keyasint,omitempty,omitzero"`
	Bedrooms     int         `json:"bedrooms,omitempty" cbor:"7,keyasint,omitempty,omitzero"` // 0: not known
	People       int         `json:"people,omitempty" cbor:"8,keyasint,omitempty,omitzero"`   // household size, 0: not known
	Pets         bool        `json:"pets,omitempty" cbor:"9,keyasint,omitempty,omitzero"`
	DryerSheets  bool        `json:"dryer_sheets,omitempty" cbor:"10,keyasint,omitempty,omitzero"`
	Occupancies  []Occupancy `json:"occupancies,omitempty" cbor:"11,keyasint,omitempty,omitzero"`
	WasherVolume float64     `json:"washer_m3,omitempty" cbor:"12,keyasint,omitempty,omitzero"` // m³; 0: not known
}

// Valid lists what is wrong with the unit.
func (x Unit) Valid() Problems {
	var p Problems
	ref(&p, x.Ref)
	required(&p, "name", x.Name)
	text(&p, "floor", x.Floor)
	oneOf(&p, "kind", x.Kind, Flat, House, LaundryRoom, OtherUnit)
	between(&p, "bedrooms", float64(x.Bedrooms), 0, 50)
	between(&p, "people", float64(x.People), 0, 100)
	between(&p, "washer_m3", x.WasherVolume, 0, 1)
	for _, o := range x.Occupancies {
		day(&p, "occupancies.from", o.From, true)
		if o.To != 0 && o.To < o.From {
			p.Add("occupancies.to", o.To.String(), "ends before it starts on %s", o.From)
		}
	}
	return p
}

// OccupantOn gives who lives there on the day; none when nobody is known.
func (x Unit) OccupantOn(d Date) ID {
	var who ID
	for _, o := range x.Occupancies {
		if o.From <= d && (o.To == 0 || d < o.To) {
			who = o.PersonID
		}
	}
	return who
}
