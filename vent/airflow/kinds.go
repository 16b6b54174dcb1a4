package airflow

import "strings"

// row is one line of a table of kinds.
type row[K ~string] interface{ key() K }

// lookup finds a kind's row; the zero row stands for an unknown kind.
func lookup[K ~string, R row[K]](rows []R, kind K) (found R) {
	for _, r := range rows {
		if r.key() == kind {
			return r
		}
	}
	return found
}

// keys lists the kinds of a table in its order.
func keys[K ~string, R row[K]](rows []R) []K {
	list := make([]K, len(rows))
	for i, r := range rows {
		list[i] = r.key()
	}
	return list
}

// oneOf is the remedy for an unknown kind.
func oneOf[K ~string](kinds []K) string {
	words := make([]string, len(kinds))
	for i, k := range kinds {
		words[i] = string(k)
	}
	return "choose one of " + strings.Join(words, ", ")
}

// Material is what a piece of duct is made of. It is stored as its text.
type Material string

// The materials.
const (
	SmoothMetal Material = "smooth_metal"     // smooth rigid aluminium or steel, slip joints
	Galvanized  Material = "galvanized"       // galvanized steel with many joints
	SemiRigid   Material = "semi_rigid_metal" // semi-rigid flexible metal
	FoilFlex    Material = "foil_flex"        // foil on a wire helix
	PlasticFlex Material = "plastic_flex"     // plastic or vinyl on a wire helix
)

type materialRow struct {
	material  Material
	roughness Meters
	flexible  bool
}

func (r materialRow) key() Material { return r.material }

// materialData keeps the wall roughness as a number: the words for roughness
// classes changed their meaning between handbook editions.
var materialData = []materialRow{
	// 3e-4 ft, the "average" class of the current duct roughness table (read,
	// engineersedge.com); measured aluminium with slip joints is 1.2e-4 to
	// 2e-4 ft (read, Hutchinson 1953), so this leaves a margin for field joints.
	{SmoothMetal, 3e-4 * metersPerFoot, false},
	// 5e-4 ft, galvanized with 2.5 ft joints (read, Wright's friction chart).
	{Galvanized, 5e-4 * metersPerFoot, false},
	// 3e-3 ft, "medium rough" and the upper end measured for flexible duct fully
	// extended (read, engineersedge.com). It makes 1.6 times the friction of
	// smooth duct; a dryer maker's two length tables imply 1.40 to 1.57 (computed).
	{SemiRigid, 3e-3 * metersPerFoot, true},
	// 1e-2 ft, "rough" (memory).
	{FoilFlex, 1e-2 * metersPerFoot, true},
	{PlasticFlex, 1e-2 * metersPerFoot, true},
}

// Materials lists all materials in the order of a form.
func Materials() []Material { return keys[Material](materialData) }

// Valid tells whether m is one of Materials.
func (m Material) Valid() bool { return m != "" && lookup(materialData, m).material == m }

// Roughness is the usual height of the wall's roughness, 0 for an unknown material.
func (m Material) Roughness() Meters { return lookup(materialData, m).roughness }

// Flexible tells whether the duct can be compressed, so that a FlexFactor applies.
func (m Material) Flexible() bool { return lookup(materialData, m).flexible }

// FittingKind is a kind of elbow. It is stored as its text.
type FittingKind string

// The fitting kinds. The first eight are the rows of the fitting table of the
// model residential code (IRC Table M1502.4.5.1), named by angle and radius.
const (
	Mitered45   FittingKind = "mitered_45_r4"
	Mitered90   FittingKind = "mitered_90_r4"
	Smooth45R6  FittingKind = "smooth_45_r6"
	Smooth90R6  FittingKind = "smooth_90_r6"
	Smooth45R8  FittingKind = "smooth_45_r8"
	Smooth90R8  FittingKind = "smooth_90_r8"
	Smooth45R10 FittingKind = "smooth_45_r10"
	Smooth90R10 FittingKind = "smooth_90_r10"
	Sectioned45 FittingKind = "sectioned_45" // adjustable or crimped elbow in sections
	Sectioned90 FittingKind = "sectioned_90"
	FlexBend45  FittingKind = "flex_bend_45" // a bend in flexible duct
	FlexBend90  FittingKind = "flex_bend_90"
)

type fittingRow struct {
	kind  FittingKind
	angle int
	k     float64
}

func (r fittingRow) key() FittingKind { return r.kind }

// fittingData holds angle and loss coefficient K, for 4 in duct.
var fittingData = []fittingRow{
	// One mitre of 45 degrees: 0.34 (read, ASHRAE mitred elbow table).
	{Mitered45, 45, 0.34},
	// Makers' length tables for 4 in rigid duct give up 8 to 11 ft for each
	// elbow (read); 10 ft at f = 0.0232 is K 0.70 (computed).
	{Mitered90, 90, 0.70},
	// Smooth elbows by radius over bore 1.5, 2.0 and 2.5: 0.15 and 0.13 (memory),
	// 0.11 (read, 7-gore r/D 2.5). 45 degrees is 0.6 of 90 (memory).
	{Smooth45R6, 45, 0.09},
	{Smooth90R6, 90, 0.15},
	{Smooth45R8, 45, 0.078},
	{Smooth90R8, 90, 0.13},
	{Smooth45R10, 45, 0.066},
	{Smooth90R10, 90, 0.11},
	// A sectioned 4 in elbow tested equal to 15 ft of straight pipe (read at
	// second hand, UL fact-finding): K 1.045 (computed). 45 degrees: 0.6 of it (memory).
	{Sectioned45, 45, 0.627},
	{Sectioned90, 90, 1.045},
	// Flexible bends: memory.
	{FlexBend45, 45, 0.6},
	{FlexBend90, 90, 1.0},
}

// FittingKinds lists all fitting kinds in the order of a form.
func FittingKinds() []FittingKind { return keys[FittingKind](fittingData) }

// Valid tells whether k is one of FittingKinds.
func (k FittingKind) Valid() bool { return k.Angle() != 0 }

// Angle is 45 or 90 degrees, 0 for an unknown kind.
func (k FittingKind) Angle() int { return lookup(fittingData, k).angle }

// LossCoefficient is the kind's usual K, 0 for an unknown kind.
func (k FittingKind) LossCoefficient() float64 { return lookup(fittingData, k).k }

// OutletKind is a kind of outlet terminal. It is stored as its text.
type OutletKind string

// The outlet kinds.
const (
	OutletLouvered      OutletKind = "louvered"
	OutletFlapper       OutletKind = "flapper"
	OutletFloating      OutletKind = "floating_closure"
	OutletNarrowWall    OutletKind = "wall_2_5_in" // wall hood with a 2.5 in opening
	OutletRoofCap       OutletKind = "roof_cap"    // flat
	OutletRoofGooseneck OutletKind = "roof_gooseneck"
	OutletRoofMushroom  OutletKind = "roof_mushroom"
	OutletRoofPlastic   OutletKind = "roof_jack_plastic"
	OutletEave          OutletKind = "eave"
	OutletOpen          OutletKind = "open_end" // no hood at all
)

type outletRow struct {
	kind OutletKind
	k    float64
}

func (r outletRow) key() OutletKind { return r.kind }

// outletData holds K on static pressure: static pressure just before the hood
// over the duct's velocity pressure. The pressures of one maker's hood test
// (read at second hand: 4 in louvered 0.08, 30 degree flapper 0.20, floating cup
// 0.60, flat roof cap 0.30, gooseneck 0.45, mushroom 0.25, plastic roof jack 0.35,
// eave 0.10 in w.c.) do not state the flow; 150 cfm is assumed, a velocity
// pressure of 0.1839 in w.c. Enter a measured K where one is known.
var outletData = []outletRow{
	{OutletLouvered, 0.44},
	{OutletFlapper, 1.09},
	{OutletFloating, 3.26},
	// Makers allow 10 to 14 ft less duct than with a 4 in hood (read): K 0.70 to
	// 0.98 more than the flapper's (computed), the larger is taken.
	{OutletNarrowWall, 2.07},
	{OutletRoofCap, 1.63},
	{OutletRoofGooseneck, 2.45},
	{OutletRoofMushroom, 1.36},
	{OutletRoofPlastic, 1.90},
	{OutletEave, 0.54},
	{OutletOpen, 0}, // the jet leaves at room pressure
}

// OutletKinds lists all outlet kinds in the order of a form.
func OutletKinds() []OutletKind { return keys[OutletKind](outletData) }

// Valid tells whether k is one of OutletKinds.
func (k OutletKind) Valid() bool { return k != "" && lookup(outletData, k).kind == k }

// LossCoefficient is the kind's usual K, 0 for an unknown kind.
func (k OutletKind) LossCoefficient() float64 { return lookup(outletData, k).k }
