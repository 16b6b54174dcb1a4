package estimate

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"

	"ventdue/desk/intake"
	"ventdue/vent"
	"ventdue/vent/airflow"
)

// field is one documented field of an object.
type field struct {
	name     string
	meaning  string
	form     form // what it takes, for the schema
	required bool
	read     func(d *draft, raw []byte) error
}

// object is one kind of object with its fields.
type object struct {
	name   string
	fields []field
	byName map[string]int
}

func newObject(name string, fields ...field) *object {
	o := &object{name: name, fields: fields, byName: make(map[string]int, len(fields))}
	for i, f := range fields {
		o.byName[f.name] = i
	}
	return o
}

// names lists the fields in their order.
func (o *object) names() []string {
	names := make([]string, len(o.fields))
	for i, f := range o.fields {
		names[i] = f.name
	}
	return names
}

// objects are all that a line can hold.
type objects struct{ line, run, dryer, unit, site, use, finding, readings *object }

// tables are built once: they are constants that Go cannot write as such.
var tables = sync.OnceValue(func() *objects {
	return &objects{
		line: lineFields(), run: runFields(), dryer: dryerFields(), unit: unitFields(), site: siteFields(),
		use: useFields(), finding: findingFields(), readings: readingFields(),
	}
})

func lineFields() *object {
	return newObject("line",
		field{name: "id", meaning: "your own key of the run, repeated in the answer", form: idForm, read: func(d *draft, raw []byte) (err error) {
			d.id, err = cell(raw)
			if err == nil && len(d.id) > maxID {
				err = fmt.Errorf("is %d bytes long: at most %d are taken", len(d.id), maxID)
			}
			return err
		}},
		field{name: "run", meaning: "how the vent run is built; without it the date comes from a wide guess", form: inner("run"),
			read: func(d *draft, raw []byte) error { return d.object("run", d.t.run, raw) }},
		field{name: "dryer", meaning: "the dryer; needed but for a riser", form: inner("dryer"),
			read: func(d *draft, raw []byte) error { return d.object("dryer", d.t.dryer, raw) }},
		field{name: "unit", meaning: "the household or laundry room", form: inner("unit"),
			read: func(d *draft, raw []byte) error { return d.object("unit", d.t.unit, raw) }},
		field{name: "site", meaning: "where the building stands", form: inner("site"),
			read: func(d *draft, raw []byte) error { return d.object("site", d.t.site, raw) }},
		field{name: "use", meaning: "loads dried in a week, or a list of changes; without it estimated from the unit", form: useForm, read: (*draft).use},
		field{name: "findings", meaning: "what was found and done, in any order", form: listOf("finding", maxFindings), read: (*draft).findings},
	)
}

// column makes a field of an import column.
func column(name string) field {
	i := slices.IndexFunc(intake.Columns(), func(c intake.Column) bool { return c.Name == name })
	c := intake.Columns()[i]
	return field{name: name, meaning: c.Meaning, form: columnForm(c), read: func(d *draft, raw []byte) error {
		s, err := cell(raw)
		if err != nil || s == "" {
			return err
		}
		x, err := intake.ReadCell(name, s, d.o.Units)
		if err == nil {
			d.cells = append(d.cells, x)
		}
		return err
	}}
}

func columns(names ...string) (all []field) {
	for _, n := range names {
		all = append(all, column(n))
	}
	return all
}

// ductColumns describe the duct; a route as exported takes their place.
var ductColumns = []string{"duct_length", "duct_diameter", "duct_material", "transition_length", "transition_material",
	"elbows_90", "elbows_45", "elbow_kind", "outlet", "concealed"}

func runFields() *object {
	fields := append(columns("run_shape"), columns(ductColumns...)...)
	fields = append(fields, columns("roof_outlet", "uninsulated", "booster", "lint_trap", "duct_measured", "changed_on", "ceiling_months", "ceiling_source", "past_fuse")...)
	return newObject("run", append(fields,
		field{name: "route", meaning: "the duct as exported, in m and °C, instead of " + ductColumns[0] + " and its like", form: typed[airflow.Duct](),
			read: func(d *draft, raw []byte) error {
				d.route = new(airflow.Duct)
				return exported(raw, d.route)
			}},
		field{name: "known", meaning: "day from which on your findings of this run are complete; without it the day of the estimate", form: dateForm,
			read: func(d *draft, raw []byte) error { return date(raw, &d.in.Run.Known) }},
	)...)
}

func dryerFields() *object {
	return newObject("dryer", append(columns("fuel", "dryer_class", "max_static", "lint_carry"),
		field{name: "blower", meaning: "the blower's curve as exported: free_air in m3/s, shutoff in Pa", form: typed[airflow.Blower](),
			read: func(d *draft, raw []byte) error {
				d.blower = new(airflow.Blower)
				return exported(raw, d.blower)
			}})...)
}

func unitFields() *object {
	return newObject("unit", columns("unit_kind", "bedrooms", "people", "pets", "washer_volume")...)
}

func siteFields() *object { return newObject("site", columns("lat")...) }

func useFields() *object {
	return newObject("use",
		field{name: "from", meaning: "first day; without it as far back as known", form: dateForm, read: func(d *draft, raw []byte) error { return date(raw, &d.change.From) }},
		field{name: "loads_per_week", meaning: "loads dried in a week", form: numberForm(0, 1000), required: true,
			read: func(d *draft, raw []byte) error { return exported(raw, &d.change.LoadsPerWeek) }},
		field{name: "source", meaning: "who says so; without it told", form: enum(vent.UseCounter, vent.UseTold, vent.UseHousehold, vent.UseDefault, vent.UseEmpty),
			read: func(d *draft, raw []byte) error { return word(raw, &d.change.Source) }},
	)
}

func findingFields() *object {
	into := func(f func(*vent.Finding) any) func(*draft, []byte) error {
		return func(d *draft, raw []byte) error { return exported(raw, f(&d.finding)) }
	}
	const passed = "as exported; does not bear on the date"
	return newObject("finding",
		field{name: "date", meaning: "day of the look", form: dateForm, required: true, read: func(d *draft, raw []byte) error { return date(raw, &d.finding.Date) }},
		field{name: "outcome", meaning: "full: the whole run was cleaned; partial; one_end: the other not seen; looked: nothing taken out; failed", required: true,
			form: enum(vent.Full, vent.Partial, vent.OneEnd, vent.LookedOnly, vent.Failed), read: func(d *draft, raw []byte) error { return word(raw, &d.finding.Outcome) }},
		field{name: "reach", meaning: "how far the brush or the eye got; through: seen through from end to end",
			form: enum(vent.ReachThrough, vent.ReachDryer, vent.ReachHood, vent.ReachNone), read: func(d *draft, raw []byte) error { return word(raw, &d.finding.Reach) }},
		field{name: "by", meaning: "who did it; without it us: your own list is taken at its word", form: byForm, read: (*draft).by},
		field{name: "lint_before", meaning: "lint by sight before, at the worst place", form: gradeForm, read: func(d *draft, raw []byte) error { return word(raw, &d.finding.LintBefore) }},
		field{name: "lint_after", meaning: "lint by sight after cleaning", form: gradeForm, read: func(d *draft, raw []byte) error { return word(raw, &d.finding.LintAfter) }},
		field{name: "before", meaning: "readings before anything was done", form: readingsForm, read: func(d *draft, raw []byte) (err error) {
			d.finding.Before, err = d.readings("before", raw)
			return err
		}},
		field{name: "after", meaning: "readings after cleaning", form: readingsForm, read: func(d *draft, raw []byte) (err error) {
			d.finding.After, err = d.readings("after", raw)
			return err
		}},
		field{name: "sudden", meaning: "what was found came at once (a nest, a crushed elbow), not by lint growing", form: boolForm, read: into(func(f *vent.Finding) any { return &f.Sudden })},
		field{name: "load_counter", meaning: "the dryer's own cycle count on that day", form: countForm, read: into(func(f *vent.Finding) any { return &f.LoadCounter })},
		field{name: "parts", meaning: "checks of the dryer's parts, as exported; a fault there explains long drying", form: typed[[]vent.PartCheck](), read: into(func(f *vent.Finding) any { return &f.Parts })},
		field{name: "symptom", meaning: "what was wrong with the dryer itself, as exported", form: textForm, read: func(d *draft, raw []byte) error { return word(raw, &d.finding.Symptom) }},
		field{name: "faults", meaning: "ids of fault rules that were seen, as exported", form: typed[[]string](), read: into(func(f *vent.Finding) any { return &f.Faults })},
		field{name: "fixed", meaning: "ids of fault rules that were put right, as exported", form: typed[[]string](), read: into(func(f *vent.Finding) any { return &f.Fixed })},
		field{name: "id", meaning: "as exported", form: textForm, read: into(func(f *vent.Finding) any { return &f.ID })},
		field{name: "replaced_by", meaning: "id of the finding that corrects this one; this one then counts no more", form: textForm, read: into(func(f *vent.Finding) any { return &f.Replaced })},
		field{name: "corrects", meaning: passed, form: textForm, read: into(func(f *vent.Finding) any { return &f.Corrects })},
		field{name: "run_id", meaning: passed, form: textForm, read: into(func(f *vent.Finding) any { return &f.RunID })},
		field{name: "source", meaning: passed, form: textForm, read: func(d *draft, raw []byte) error { return word(raw, &d.finding.Source) }},
		field{name: "close_out", meaning: passed, form: typed[[]string](), read: into(func(f *vent.Finding) any { return &f.CloseOut })},
		field{name: "photos", meaning: passed, form: typed[[]vent.Photo](), read: into(func(f *vent.Finding) any { return &f.Photos })},
		field{name: "note", meaning: passed, form: textForm, read: func(d *draft, raw []byte) error { return word(raw, &d.finding.Note) }},
		field{name: "recorded", meaning: passed, form: textForm, read: into(func(f *vent.Finding) any { return &f.Recorded })},
		field{name: "recorder", meaning: passed, form: textForm, read: func(d *draft, raw []byte) error { return word(raw, &d.finding.Recorder) }},
	)
}

// readingFields are the short form of a list of readings: one member for each figure.
func readingFields() *object {
	add := func(q vent.Quantity, read func(d *draft, text string) (float64, error)) func(*draft, []byte) error {
		return func(d *draft, raw []byte) error {
			s, err := cell(raw)
			if err != nil {
				return err
			}
			v, err := read(d, s)
			if err == nil {
				d.figures = append(d.figures, vent.Reading{Quantity: q, Value: v, Given: s})
			}
			return err
		}
	}
	sheet := func(column string) func(*draft, string) (float64, error) {
		return func(d *draft, s string) (float64, error) {
			c, err := intake.ReadCell(column, s, d.o.Units)
			return c.Value.Number, err
		}
	}
	return newObject("readings",
		field{name: string(vent.AirSpeed), meaning: "air speed at the outlet", form: measureForm("fpm", "m/s", "900 fpm"), read: add(vent.AirSpeed, sheet("speed_before"))},
		field{name: string(vent.Static), meaning: "static pressure at the dryer's outlet", form: measureForm("in w.c.", "Pa", "0.45 in w.c."), read: add(vent.Static, sheet("static_before"))},
		field{name: string(vent.Flow), meaning: "air flow", form: measureForm("cfm", "L/s", "120 cfm"), read: add(vent.Flow, sheet("flow_before"))},
		field{name: string(vent.Flap), meaning: "how far the outlet flap opens while the dryer runs: full, half, not, or a share", form: flapForm, read: add(vent.Flap, flap)},
		field{name: string(vent.DryMinutes), meaning: "minutes that a usual load takes", form: numberForm(1, 600), read: add(vent.DryMinutes, number)},
		field{name: string(vent.LintMass), meaning: "lint taken out, with its unit: g, kg, oz or lb", form: massForm, read: add(vent.LintMass, mass)},
		field{name: string(vent.ExhaustT), meaning: "exhaust temperature", form: measureForm("F", "C", "140 F"), read: add(vent.ExhaustT, temperature)},
		field{name: "conditions", meaning: "what held while they were taken, so that they compare with others: same_point, flap_open, empty_drum, clean_screen, warm, pushed_back",
			form: enumList(vent.SamePoint, vent.FlapOpen, vent.EmptyDrum, vent.CleanScreen, vent.WarmDryer, vent.PushedBack),
			read: func(d *draft, raw []byte) error { return exported(raw, &d.conditions) }},
	)
}

func number(_ *draft, s string) (float64, error) {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		return 0, errors.New("is not a number: write digits with a decimal point, without a unit")
	}
	return v, nil
}

func flap(d *draft, s string) (float64, error) {
	switch s {
	case "full":
		return 1, nil
	case "half":
		return 0.5, nil
	case "not":
		return 0, nil
	}
	v, err := number(d, s)
	if err != nil {
		err = errors.New("is no opening: write full, half, not, or a share from 0 to 1")
	}
	return v, err
}

// mass reads a weight. A plain number is refused: grams and ounces are both usual.
func mass(_ *draft, s string) (float64, error) {
	figure := strings.TrimRight(s, "abcdefghijklmnopqrstuvwxyz ")
	v, err := strconv.ParseFloat(figure, 64)
	// Ounce and pound are exact by definition (NIST SP 811, appendix B).
	per, ok := map[string]float64{"g": 0.001, "kg": 1, "oz": 0.028349523125, "lb": 0.45359237}[strings.TrimSpace(s[len(figure):])]
	if err == nil && ok && v >= 0 {
		return v * per, nil
	}
	return 0, errors.New(`is not a weight: write it with its unit, such as "120 g" or "4 oz"`)
}

func temperature(d *draft, s string) (float64, error) {
	if _, err := strconv.ParseFloat(s, 64); err == nil {
		s += " F"
		if d.o.Units == vent.SI {
			s = s[:len(s)-1] + "C"
		}
	}
	v, err := airflow.ParseTemperature(s)
	return float64(v), err
}
