package estimate

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"hash/fnv"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"ventdue/desk/intake"
	"ventdue/scheduler"
	"ventdue/vent"
	"ventdue/vent/airflow"
)

// Bounds on what one line may hold.
const (
	maxID       = 200
	maxFindings = 400
	maxChanges  = 400
	maxReadings = 40
	maxProblems = 10
)

// draft is one line while it is read.
type draft struct {
	o     *Options
	t     *objects
	id    string
	in    scheduler.Input
	cells []intake.Cell

	route  *airflow.Duct
	blower *airflow.Blower

	change     vent.Use         // entry of use that is being read
	finding    vent.Finding     // finding that is being read
	figures    []vent.Reading   // short form that is being read
	conditions []vent.Condition // of it

	path     []string // where the reading is: run, findings[2]
	problems vent.Problems
}

// read takes a whole line apart. What is wrong with it is in the error, every field by its name.
func read(o *Options, line []byte) (id string, in scheduler.Input, err error) {
	switch {
	case !utf8.Valid(line):
		return "", in, errors.New("the line is not UTF-8: save the file as UTF-8")
	case !json.Valid(line):
		return "", in, fmt.Errorf("the line is not JSON: %w", json.Unmarshal(line, new(any)))
	case line[0] != '{':
		return "", in, fmt.Errorf("the line is %s: write one object per line", kindOf(line))
	}
	d := draft{o: o, t: tables()}
	if err := d.object("", d.t.line, line); err != nil {
		return d.id, in, err
	}
	if len(d.problems) == 0 {
		d.finish()
	}
	return d.id, d.in, d.problems.Err()
}

// bad notes a problem with a field of the object that is being read.
func (d *draft) bad(field, value, text string) {
	if len(d.problems) < maxProblems {
		name := strings.Join(append(d.path, field), ".")
		d.problems = append(d.problems, vent.Problem{Field: strings.TrimSuffix(name, "."), Value: value, Text: strings.ReplaceAll(text, "\n", "; ")})
	}
}

// object reads the members of an object. The error is only for a value that is no object at all.
func (d *draft) object(name string, o *object, raw []byte) error {
	if raw[0] != '{' {
		return fmt.Errorf("is %s: write an object", kindOf(raw))
	}
	if name != "" {
		d.path = append(d.path, name)
		defer func() { d.path = d.path[:len(d.path)-1] }()
	}
	var seen uint64 // no object has more than 64 fields
	for key, value := range members(raw) {
		i, known := o.byName[string(key[1:len(key)-1])]
		if !known && bytes.IndexByte(key, '\\') >= 0 {
			name, _ := text(key) // an escaped name is the same name; what cannot be unescaped stays unknown
			i, known = o.byName[name]
		}
		switch {
		case !known:
			d.unknown(o, key)
		case seen&(1<<i) != 0:
			d.bad(o.fields[i].name, "", "is there twice: keep one of them")
		case isNull(value):
		default:
			if err := o.fields[i].read(d, value); err != nil {
				d.bad(o.fields[i].name, shown(value), err.Error())
			}
			seen |= 1 << i
		}
	}
	for i, f := range o.fields {
		if f.required && seen&(1<<i) == 0 {
			d.bad(f.name, "", "is missing: "+f.meaning)
		}
	}
	return nil
}

// shown gives a plain value for a message, and nothing of a nested one.
func shown(raw []byte) string {
	s, err := cell(raw)
	if err != nil || len(s) > 200 {
		return ""
	}
	return s
}

// unknown refuses a field by name, with the nearest that there is, here or in another object.
func (d *draft) unknown(o *object, key []byte) {
	name, err := text(key)
	if err != nil {
		name = string(key)
	}
	if len(name) > 60 {
		name = name[:60] + "…"
	}
	for _, other := range []*object{d.t.run, d.t.dryer, d.t.unit, d.t.site, d.t.finding} {
		if _, ok := other.byName[name]; ok && other != o {
			d.bad(name, "", "is not known here: it belongs in "+other.name)
			return
		}
	}
	if name == "loads_per_week" {
		d.bad(name, "", "is not known here: write it as use, beside run")
		return
	}
	d.bad(name, "", "is not known"+hint(name, o.names()))
}

// use reads loads: a number, or a list of changes.
func (d *draft) use(raw []byte) error {
	if raw[0] != '[' {
		var n float64
		if err := exported(raw, &n); err != nil {
			return errors.New("is neither a number of loads a week nor a list of changes")
		}
		d.in.Run.Use = []vent.Use{{LoadsPerWeek: n, Source: vent.UseTold}}
		return nil
	}
	i := 0
	for x := range elements(raw) {
		if i == maxChanges {
			return fmt.Errorf("has more than %d changes", maxChanges)
		}
		d.change = vent.Use{Source: vent.UseTold}
		if err := d.object(fmt.Sprintf("use[%d]", i), d.t.use, x); err != nil {
			return fmt.Errorf("entry %d %w", i, err)
		}
		d.in.Run.Use = append(d.in.Run.Use, d.change)
		i++
	}
	slices.SortStableFunc(d.in.Run.Use, func(a, b vent.Use) int { return int(a.From) - int(b.From) })
	return nil
}

// findings reads the list of findings.
func (d *draft) findings(raw []byte) error {
	if raw[0] != '[' {
		return fmt.Errorf("is %s: write a list", kindOf(raw))
	}
	i := 0
	for x := range elements(raw) {
		if i == maxFindings {
			return fmt.Errorf("has more than %d entries: give the newest", maxFindings)
		}
		d.finding = vent.Finding{}
		name := "findings[" + strconv.Itoa(i) + "]"
		if err := d.object(name, d.t.finding, x); err != nil {
			return fmt.Errorf("entry %d %w", i, err)
		}
		d.take(name, i)
		i++
	}
	slices.SortStableFunc(d.in.Findings, func(a, b vent.Finding) int { return int(a.Date) - int(b.Date) })
	return nil
}

// take checks the finding that was read and keeps it.
func (d *draft) take(name string, i int) {
	f := d.finding
	if f.Source == "" {
		f.Source = "estimate"
	}
	if f.By.Kind == "" {
		f.By.Kind = vent.ByUs // as in an import: your own list is taken at its word
	}
	if f.ID.IsZero() {
		f.ID = vent.ID{15: byte(i), 14: byte(i >> 8), 0: 1}
	}
	f.RunID = vent.ID{} // the line's own run, whatever id it had
	if f.Date != 0 && f.Outcome != "" {
		d.check(name, f.Valid(d.o.Today))
	}
	d.in.Findings = append(d.in.Findings, f)
}

// by reads who did it: a word, or an object as exported.
func (d *draft) by(raw []byte) error {
	if raw[0] == '{' {
		return exported(raw, &d.finding.By)
	}
	return word(raw, &d.finding.By.Kind)
}

// readings reads figures: an object with one member for each, or a list as exported.
func (d *draft) readings(name string, raw []byte) (list []vent.Reading, err error) {
	if raw[0] == '[' {
		err := exported(raw, &list)
		if err == nil && len(list) > maxReadings {
			err = fmt.Errorf("has more than %d readings", maxReadings)
		}
		return list, err
	}
	d.figures, d.conditions = nil, nil
	if err := d.object(name, d.t.readings, raw); err != nil {
		return nil, errors.New("is neither an object nor a list of readings")
	}
	for i := range d.figures {
		d.figures[i].Conditions = d.conditions
	}
	return d.figures, nil
}

// check takes over what a noun finds wrong with itself.
func (d *draft) check(path string, p vent.Problems) {
	if path != "" {
		d.path = append(d.path, path)
		defer func() { d.path = d.path[:len(d.path)-1] }()
	}
	for _, x := range p {
		d.bad(x.Field, x.Value, x.Text)
	}
}

// finish makes nouns of what was read and checks them as a whole.
func (d *draft) finish() {
	sheet := intake.Draft{}
	sheet.Fill(d.cells)
	d.dryer(sheet.Dryer)
	d.run(&sheet)
	d.in.Unit, d.in.Site, d.in.Policy = sheet.Unit, sheet.Site, d.o.Policy
	if d.in.Unit.Kind == "" {
		d.in.Unit.Kind = vent.House
	}
	d.in.Unit.Name = "-"
	d.named("unit", intake.OfUnit, d.in.Unit.Valid())
	if d.in.Run.Shape == vent.Riser {
		d.in.Unit = vent.Unit{}
	}
}

func (d *draft) dryer(a vent.Appliance) {
	a.Kind, a.Blower = vent.Dryer, d.blower
	d.in.Dryer = a
	switch {
	case a.Fuel == vent.Ventless:
		d.problems.Add("dryer.fuel", "ventless", "a ventless dryer has no exhaust run: leave it out")
	case a.Fuel != "":
		d.named("dryer", intake.OfDryer, a.Valid())
	case a.Blower != nil:
		d.blowerOnly()
	}
}

func (d *draft) blowerOnly() {
	if err := d.blower.Validate(); err != nil {
		d.check("dryer", vent.Problems{{Field: "blower", Text: err.Error()}})
	}
}

func (d *draft) run(sheet *intake.Draft) {
	r := sheet.Run
	r.ID, r.Name, r.Known, r.Use = idOf(d.id), vent.UsualRunName, d.in.Run.Known, d.in.Run.Use
	if r.Shape == "" {
		r.Shape = vent.Single
	}
	if r.Shape == vent.Branch {
		r.ParentID = vent.ID{0: 2} // some riser: only that there is one matters
	}
	if d.in.Dryer.Fuel == "" && r.Shape != vent.Riser {
		d.problems.Add("dryer.fuel", "", "is missing: write electric or gas")
	}
	if r.Known == 0 {
		r.Known = d.o.Today
	}
	v := sheet.Version
	v.From, v.Route = sheet.Changed, d.duct(sheet.Route)
	d.in.InLine = sheet.InLine.Appliances()
	for _, a := range d.in.InLine {
		v.InLine = append(v.InLine, a.ID)
	}
	if c := sheet.Ceiling; c != (vent.Ceiling{}) {
		if c.Source == "" {
			c.Source = "somebody outside"
		}
		r.Ceilings = []vent.Ceiling{c}
	}
	r.Versions = []vent.Version{v}
	for _, x := range []struct {
		field string
		day   vent.Date
	}{{"run.known", r.Known}, {"run.changed_on", v.From}} {
		if x.day > d.o.Today {
			d.problems.Add(x.field, x.day.String(), "is in the future: today is %s", d.o.Today)
		}
	}
	d.in.Run = r
	d.named("run", intake.OfRun, r.Valid())
	for _, u := range r.Use {
		if u.From != 0 && (u.From < firstDay || u.From > lastDay) {
			d.problems.Add("use.from", u.From.String(), "is not a plausible day: use 1950 to 2199")
		}
	}
}

// duct gives the route as exported, or as the columns tell it; nil where nothing is known of it.
func (d *draft) duct(said intake.Route) *airflow.Duct {
	if d.route != nil {
		if said.Any() {
			d.problems.Add("run.route", "", "stands beside duct_length or its like: give one of them")
		}
		if err := d.route.Validate(); err != nil {
			d.ductProblems(err, func(field string) string { return "route." + field })
		}
		return d.route
	}
	duct, problems := said.Onto(nil)
	for _, x := range problems {
		d.problems.Add("run."+x.Column, x.Value, "%s: %s", x.What, x.Remedy)
	}
	if duct != nil {
		if err := duct.Validate(); err != nil {
			d.ductProblems(err, intake.DuctColumn)
			return nil
		}
	}
	return duct
}

func (d *draft) ductProblems(err error, name func(field string) string) {
	all := []error{err}
	if joined, ok := err.(interface{ Unwrap() []error }); ok {
		all = joined.Unwrap()
	}
	for _, e := range all {
		var f *airflow.FieldError
		if errors.As(e, &f) {
			d.check("run", vent.Problems{{Field: name(f.Field), Text: f.Problem + ": " + f.Remedy}})
		} else {
			d.check("run", vent.Problems{{Field: name(""), Text: e.Error()}})
		}
	}
}

// named takes over what a noun finds wrong, under the names that the line uses. A duct was checked by itself.
func (d *draft) named(path string, part intake.Part, p vent.Problems) {
	for _, x := range p {
		if x.Field == "versions.route" {
			continue
		}
		if c := part.Column(x.Field); c != nil {
			x.Field = c.Name
		}
		if strings.HasPrefix(x.Field, "use.") || x.Field == "loads_per_week" {
			d.check("", vent.Problems{{Field: "use." + strings.TrimPrefix(x.Field, "use."), Value: x.Value, Text: x.Text}})
			continue
		}
		d.check(path, vent.Problems{x})
	}
}

var firstDay, lastDay = vent.NewDate(1950, 1, 1), vent.NewDate(2199, 12, 31)

// idOf gives a run its own id, so that runs whose last cleaning is not known are spread the same way every time.
func idOf(key string) (id vent.ID) {
	h := fnv.New128a()
	_, _ = h.Write([]byte(key)) // never fails
	copy(id[:], h.Sum(nil))
	return id
}
