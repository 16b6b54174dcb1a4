package lint

import "ventdue/vent"

// Summary is what one run can teach its neighbours: how far its own findings put its log growth from what its build and
// its use let expect, and how precisely. It is small enough to be kept as a row.
type Summary struct {
	RunID  vent.ID `json:"run_id" cbor:"1,keyasint"`
	SiteID vent.ID `json:"site_id" cbor:"2,keyasint"`
	// Build is a key that runs of like build share: material, length class, dryer class.
	Build string `json:"build" cbor:"3,keyasint"`
	// Shift is the difference of log growth against the prior's median without any pool; Precision is 1/variance of what
	// the findings alone say of it, 0: nothing.
	Shift     float64 `json:"shift" cbor:"4,keyasint"`
	Precision float64 `json:"precision" cbor:"5,keyasint"`
	// Apart keeps branches of a riser from teaching each other: what chokes one may sit in the riser.
	Apart bool `json:"apart,omitempty" cbor:"6,keyasint,omitempty"`
}

// Tally adds up summaries; rows can be kept per site and per build and a run's own summary taken out again.
type Tally struct {
	Weight float64 `json:"weight" cbor:"1,keyasint"`
	Sum    float64 `json:"sum" cbor:"2,keyasint"` // of weight times shift
	Runs   int     `json:"runs" cbor:"3,keyasint"`
}

// Pool is what a run's neighbours know: the runs of its site and the operator's runs of like build, without itself.
type Pool struct {
	Site  Tally `json:"site" cbor:"1,keyasint"`
	Build Tally `json:"build" cbor:"2,keyasint"`
}
