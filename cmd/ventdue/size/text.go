package size

import (
	"fmt"
	"io"
	"math"
	"strings"
	"text/tabwriter"

	"ventdue/desk/wording"
	"ventdue/vent"
	"ventdue/vent/airflow"
	"ventdue/vent/rules"
)

// figures say figures in one unit system.
type figures struct{ si bool }

func (f figures) length(m airflow.Meters) string {
	if f.si {
		return fmt.Sprintf("%.2f m", float64(m))
	}
	return fmt.Sprintf("%.1f ft", m.Feet())
}

func (f figures) bore(m airflow.Meters) string {
	if f.si {
		return fmt.Sprintf("%.0f mm", m.Millimeters())
	}
	return fmt.Sprintf("%.3g in", m.Inches())
}

func (f figures) flow(q airflow.CubicMetersPerSecond) string {
	if f.si {
		return fmt.Sprintf("%.0f L/s", q.LitersPerSecond())
	}
	return fmt.Sprintf("%.0f cfm", q.CFM())
}

func (f figures) speed(v airflow.MetersPerSecond) string {
	if f.si {
		return fmt.Sprintf("%.1f m/s", float64(v))
	}
	return fmt.Sprintf("%.0f ft/min", v.FeetPerMinute())
}

func (f figures) pressure(p airflow.Pascals) string {
	if f.si {
		return fmt.Sprintf("%.0f Pa", float64(p))
	}
	return fmt.Sprintf("%.2f in w.c.", p.InchesWater())
}

// Print writes the result for somebody who stands at the dryer.
func (r Result) Print(w io.Writer, a Asked, words wording.Words) error {
	f := figures{words.Units == vent.SI}
	b := &strings.Builder{}
	fmt.Fprintf(b, "%s\n\n", r.describe(a, f))
	t := tabwriter.NewWriter(b, 0, 0, 2, ' ', 0)
	if r.FoilOrPlastic {
		fmt.Fprintln(t, "Replace it now\tFoil or plastic duct burns and holds lint, whatever the date below (common practice)")
	}
	r.Code.print(t, f)
	r.Air.print(t, f)
	r.printDue(t, words)
	if err := t.Flush(); err != nil {
		return err
	}
	r.printReasons(b, words)
	if err := r.printChanges(b, f, words); err != nil {
		return err
	}
	fmt.Fprintln(b, "\nCare")
	for _, c := range words.Cautions(a.Dryer, a.Version) {
		fmt.Fprintf(b, "  - %s\n", c)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// describe repeats what was asked, so that a slip of the pen is seen.
func (r Result) describe(a Asked, f figures) string {
	var parts []string
	for _, s := range r.Duct.Sections {
		parts = append(parts, fmt.Sprintf("%s of %s %s", f.length(s.Length), f.bore(s.Diameter), said(string(s.Material))))
	}
	for _, x := range r.Duct.Fittings {
		parts = append(parts, fmt.Sprintf("%d x %s", x.Count, elbow(x.Kind)))
	}
	if t := r.Duct.Transition; t.Length > 0 {
		parts = append(parts, fmt.Sprintf("%s transition of %s", f.length(t.Length), said(string(t.Material))))
	}
	parts = append(parts, "outlet: "+said(string(r.Duct.Outlet.Kind)))
	class := a.Dryer.Class
	if class == "" {
		class = airflow.FullSize
	}
	return fmt.Sprintf("%s %s dryer, %s", first(said(string(a.Dryer.Fuel))), said(string(class)), strings.Join(parts, ", "))
}

// said turns a machine word into words.
func said(s string) string { return strings.ReplaceAll(s, "_", " ") }

func first(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// elbow names a fitting as a technician does: "90° mitred elbow", "45° smooth elbow, 6 in radius".
func elbow(k airflow.FittingKind) string {
	kind := strings.Split(string(k), "_")[0]
	switch kind {
	case "mitered":
		kind = "mitred elbow"
	case "smooth":
		kind = "smooth elbow, " + strings.TrimPrefix(string(k[strings.LastIndexByte(string(k), '_')+1:]), "r") + " in radius"
	case "sectioned":
		kind = "elbow in sections"
	case "flex":
		kind = "bend in flexible duct"
	}
	return fmt.Sprintf("%d° %s", k.Angle(), kind)
}

func (c Code) print(t io.Writer, f figures) {
	if c.Unknown != "" {
		fmt.Fprintf(t, "Code length\tnot known: %s\n", c.Unknown)
		if c.Strictest > 0 {
			fmt.Fprintf(t, "\tcounted as the elbows with the most length it would be %s of %s allowed\n", f.length(c.Strictest), f.length(c.Limit))
		}
		return
	}
	verdict := "within the limit"
	if !c.Passes {
		verdict = fmt.Sprintf("TOO LONG by %s", f.length(-c.Margin))
	}
	fmt.Fprintf(t, "Code length\t%s of %s allowed: %s (%s)\n", f.length(c.Length), f.length(c.Limit), verdict, c.Title)
	fmt.Fprintf(t, "\t%s straight, %s for fittings; the transition does not count\n", f.length(c.Straight), f.length(c.Fittings))
	if c.Transition > 0 && !c.TransitionOK {
		fmt.Fprintf(t, "Transition\tTOO LONG: %s, at most %s in one piece\n", f.length(c.Transition), f.length(c.TransitionLimit))
	}
	if c.LabelNeeded {
		fmt.Fprintln(t, "Label\tput up a permanent label with the length, within 6 ft (1.8 m) of the duct's connection")
	}
}

func (a Air) print(t io.Writer, f figures) {
	from := "the dryer's own blower figures"
	if a.BlowerOfClass {
		from = "the usual blower of the class, not this model's"
	}
	fmt.Fprintf(t, "Air when clean\t%s, %s at the outlet (computed with %s)\n", f.flow(a.Flow), f.speed(a.OutletSpeed), from)
	verdict := "within"
	if !a.StaticOK {
		verdict = "PAST"
	}
	fmt.Fprintf(t, "Static pressure\t%s at the dryer when clean: %s the limit of %s\n", f.pressure(a.Static), verdict, f.pressure(a.StaticLimit))
	fmt.Fprintf(t, "Resistance\t%s at %s\n", f.pressure(a.Resistance), f.flow(referenceFlow))
	held, asked := "held", ""
	if !a.CarryHeld {
		held = "NOT held"
	}
	if a.CarryAsked {
		asked = ", which this maker demands"
	}
	fmt.Fprintf(t, "Lint carried\t%s in the duct: %s %s%s\n", f.speed(a.DuctSpeed), f.speed(a.CarrySpeed), held, asked)
}

func (r Result) printDue(t io.Writer, words wording.Words) {
	latest := ""
	if r.Due.Latest != r.Due.Day {
		latest = ", not later than " + words.Date(r.Due.Latest)
	}
	fmt.Fprintf(t, "First cleaning\tby %s%s\n", words.Date(r.Due.Day), latest)
}

func (r Result) printReasons(b *strings.Builder, words wording.Words) {
	fmt.Fprintln(b, "\nWhy")
	for _, s := range replaceNow(r.Duct) {
		fmt.Fprintf(b, "  - %s\n", s)
	}
	if r.NoSafe {
		fmt.Fprintln(b, "  - Even clean, this run stands at or past the dryer maker's pressure limit. No cleaning makes that right: improve the run.")
	}
	for _, s := range words.Reason(vent.Due{Wanted: r.Plan}) {
		fmt.Fprintf(b, "  - %s\n", s)
	}
}

// replaceNow gives what must go before any date is worth reading: foil and plastic, in the words of the fault rules.
func replaceNow(d airflow.Duct) (all []string) {
	say := func(id string) {
		if r, ok := rules.FaultByID(id); ok {
			all = append(all, fmt.Sprintf("Replace it now. %s: %s.", first(r.Looks), r.Do))
		}
	}
	if d.Transition.Length > 0 {
		switch d.Transition.Material {
		case airflow.PlasticFlex:
			say(rules.PlasticTransition)
		case airflow.FoilFlex:
			say(rules.FoilTransition)
		}
	}
	for _, s := range d.Sections {
		if s.Material == airflow.FoilFlex || s.Material == airflow.PlasticFlex {
			say(rules.DuctFlexible)
			break
		}
	}
	return all
}

func (r Result) printChanges(b *strings.Builder, f figures, words wording.Words) error {
	if len(r.Changes) == 0 {
		return nil
	}
	fmt.Fprint(b, "\nWhat one change would do, by the numbers alone\n")
	t := tabwriter.NewWriter(b, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "  CHANGE\tFIRST CLEANING\tDATE\tSTATIC PRESSURE\tCODE LENGTH")
	fmt.Fprintf(t, "  as it is\t\t%s\t%s\t%s\n", byModel(r.Due.ByModel, words), f.pressure(r.Air.Static), codeCell(r.Code.Length, r.Code.Passes, f))
	for _, c := range r.Changes {
		fmt.Fprintf(t, "  %s\t%s\t%s\t%s\t%s\n", c.say(f), months(c), byModel(c.ByModel, words), f.pressure(c.Static), codeCell(c.Code, c.CodeOK, f))
	}
	if err := t.Flush(); err != nil {
		return err
	}
	if r.Due.ByModel != r.Due.Day {
		fmt.Fprintln(b, "  The first date itself is kept within the bounds above until measured cycles support a longer one.")
	}
	for _, c := range r.Changes {
		if c.Kind == WiderDuct {
			fmt.Fprintln(b, "  A wider duct needs the maker's and the authority's consent (model codes ask for 4 in), and it slows the air.")
		}
	}
	return nil
}

func byModel(d vent.Date, words wording.Words) string {
	if d == 0 {
		return "over ten years"
	}
	return words.Month(d)
}

func codeCell(m airflow.Meters, ok bool, f figures) string {
	switch {
	case m == 0:
		return "-"
	case !ok:
		return f.length(m) + " (too long)"
	}
	return f.length(m)
}

// months says how far a change moves the date.
func months(c Change) string {
	n := math.Round(float64(c.Days) / 365.25 * 12)
	more := ""
	if c.Beyond {
		more = "more than "
	}
	switch {
	case math.Abs(n) < 1:
		return "about the same"
	case math.Abs(n) == 1:
		return fmt.Sprintf("%s%+.0f month", more, n)
	}
	return fmt.Sprintf("%s%+.0f months", more, n)
}

// say names the change as it would be told to the customer.
func (c Change) say(f figures) string {
	switch c.Kind {
	case SmoothDuct:
		return "smooth rigid duct instead of flexible"
	case BetterTransition:
		return "semi-rigid metal transition instead of foil or plastic"
	case OneElbowLess:
		return "one 90° elbow less"
	case OneBendLess:
		return "one 45° elbow less"
	case LargerRadius:
		return "smooth elbows of 10 in radius"
	case WiderDuct:
		return f.bore(widerBore) + " duct"
	case OtherOutlet:
		return said(string(c.Outlet)) + " outlet"
	case Shorter:
		return f.length(shorterBy) + " shorter"
	case Insulated:
		return "insulated where it is cold"
	}
	return "a quarter fewer loads"
}
