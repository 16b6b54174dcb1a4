package faults

import (
	"cmp"
	"fmt"
	"slices"

	"ventdue/vent"
	"ventdue/vent/airflow"
	"ventdue/vent/rules"
)

// Trouble is what the computation of lint found, as plain values.
type Trouble struct {
	Rule    string // rules.CleanPastMaker and its neighbours
	On      vent.Date
	Finding vent.ID // none where it follows from the run alone
	// Value and Against are the figure and what it is compared with: Pa for pressure, else a share of the clean flow.
	Value, Against float64
}

// Facts is what the tool looks through by itself.
type Facts struct {
	Run    vent.Run
	Dryer  vent.Appliance   // of the current version; zero where not known
	InLine []vent.Appliance // boosters and traps of the current version
	Alarms []vent.Appliance // smoke and CO alarms of the unit
	// Findings are those of the run, in any order.
	Findings []vent.Finding
	// Edition is the rule for code length where the version names none.
	Edition airflow.Edition
	// Troubles are all that the computation of lint finds now.
	Troubles []Trouble
	// Today is the day that alarms' ages are judged on; 0 leaves them alone.
	Today vent.Date
}

// Doubt is a rule that could not be judged, and what is missing.
type Doubt struct{ Rule, Why string }

// ByTool gives what follows from the record, rule by rule: what is there, and what no longer is. It is for every plan:
// the same facts give the same sights. What cannot be judged is neither; it is told as a doubt.
func ByTool(f Facts) ([]Sight, []Doubt) {
	t := &tool{facts: f, at: SettingOf(f.Run, f.Dryer), version: f.Run.Current()}
	t.from = max(f.Run.Known, t.version.From)
	if f.Dryer.Fuel != vent.Ventless {
		t.route()
		t.inLine()
		t.troubles()
	}
	t.alarms()
	t.secondFuse()
	return t.sights, t.doubts
}

type tool struct {
	facts   Facts
	at      Setting
	version vent.Version
	from    vent.Date // since when the run is so, as far as known here
	sights  []Sight
	doubts  []Doubt
}

// judge notes whether a rule's condition holds by the record.
func (t *tool) judge(id string, is bool, note string, args ...any) {
	r, _ := rules.FaultByID(id)
	if is {
		note = fmt.Sprintf(note, args...)
	}
	t.judgeOn(t.at.subject(r), id, is, t.from, note)
}

func (t *tool) judgeOn(subject vent.Subject, id string, is bool, on vent.Date, note string) {
	s := Sight{Kind: Found, Rule: id, Subject: subject, On: on, ByTool: true, Note: note}
	if !is {
		s.Kind, s.On, s.Note = Gone, max(t.from, t.facts.Today), "what is recorded no longer shows it"
	}
	t.sights = append(t.sights, s)
}

func (t *tool) doubt(id, why string, args ...any) {
	t.doubts = append(t.doubts, Doubt{id, fmt.Sprintf(why, args...)})
}

// nominal4in is the least bore that counts as 4 in: ducts are sold as 4 in or 100 mm, and measured by hand.
const nominal4in airflow.Meters = 0.0995

// route judges the description of the current version.
func (t *tool) route() {
	d := t.version.Route
	if d == nil {
		t.doubt(rules.CodeLengthOver, "nobody described the run: enter its pieces and fittings")
		return
	}
	tr := d.Transition
	t.judge(rules.PlasticTransition, tr.Length > 0 && tr.Material == airflow.PlasticFlex, "by the run's description")
	t.judge(rules.FoilTransition, tr.Length > 0 && tr.Material == airflow.FoilFlex, "by the run's description")
	narrow, flexible := airflow.Meters(0), airflow.Meters(0)
	for _, s := range d.Sections {
		if s.Length > 0 && s.Diameter > 0 && s.Diameter < nominal4in && (narrow == 0 || s.Diameter < narrow) {
			narrow = s.Diameter
		}
		if s.Material == airflow.FoilFlex || s.Material == airflow.PlasticFlex {
			flexible += s.Length
		}
	}
	if tr.Length > 0 && tr.Diameter > 0 && tr.Diameter < nominal4in && (narrow == 0 || tr.Diameter < narrow) {
		narrow = tr.Diameter
	}
	t.judge(rules.DuctNarrow, narrow > 0, "the narrowest piece is %.1f in", narrow.Inches())
	t.judge(rules.DuctFlexible, flexible > 0, "%.1f ft of it", flexible.Feet())
	t.length(*d)
}

// length judges the code length and the transition by the edition that holds.
func (t *tool) length(d airflow.Duct) {
	edition := airflow.Edition(cmp.Or(t.version.Edition, string(t.facts.Edition)))
	if edition == "" {
		edition = airflow.IRC2012
	}
	if edition == airflow.MakerEdition {
		t.doubt(rules.CodeLengthOver, "the maker's own table holds here: compare the length with it by hand")
		t.transition(d, airflow.Feet(8), "the usual 8 ft")
		return
	}
	rule, err := airflow.RuleFor(edition)
	if err != nil {
		t.doubt(rules.CodeLengthOver, "%v", err)
		return
	}
	t.transition(d, rule.Transition, rule.TransitionSource)
	if t.boosted(true) {
		// From memory: IRC M1502.4.5.3, where a power ventilator is fitted its maker's instructions give the length.
		t.doubt(rules.CodeLengthOver, "a listed booster is in the run, so that its maker's length counts: compare by hand")
	}
	c, err := rule.CodeLength(d)
	if err != nil {
		t.doubt(rules.CodeLengthOver, "%v", err)
		return
	}
	guess := ""
	if !t.version.Measured {
		guess = "; the route was not measured"
	}
	t.judge(rules.CodeLengthOver, !c.Passes && !t.boosted(true), "%.1f ft by %s, limit %.1f ft%s", c.Length.Feet(), rule.Title, c.Limit.Feet(), guess)
	t.judge(rules.LabelMissing, c.LabelNeeded && !t.version.Labelled, "%.1f ft by %s", c.Length.Feet(), rule.Title)
}

// lengthSlack forgives the rounding between feet and metres.
const lengthSlack airflow.Meters = 1e-6

func (t *tool) transition(d airflow.Duct, most airflow.Meters, source string) {
	long := d.Transition.Length > most+lengthSlack
	t.judge(rules.TransitionLong, long, "%.1f ft; limit %.1f ft: %s", d.Transition.Length.Feet(), most.Feet(), source)
}

// boosted reports whether a booster is in the run that is recorded as listed for dryers, or one that is not.
func (t *tool) boosted(listed bool) bool {
	return slices.ContainsFunc(t.facts.InLine, func(a vent.Appliance) bool {
		return a.Kind == vent.Booster && a.Listed == listed && a.Removed == 0
	})
}

// inLine judges boosters and the CO alarm beside a gas dryer.
func (t *tool) inLine() {
	t.judge(rules.BoosterUnlisted, t.boosted(false), "no listing for dryers is recorded")
	alarm := t.facts.Dryer.HasCO || slices.ContainsFunc(t.facts.Alarms, func(a vent.Appliance) bool {
		return a.Kind == vent.COAlarm && a.Removed == 0
	})
	t.judge(rules.GasNoCOAlarm, t.at.Gas && !alarm, "no CO alarm is recorded")
}

// alarms judges their ages.
func (t *tool) alarms() {
	for _, a := range t.facts.Alarms {
		by, known := ReplaceBy(a)
		if t.facts.Today == 0 || !known {
			continue
		}
		past := a.Removed == 0 && by <= t.facts.Today
		t.judgeOn(vent.Subject{Kind: vent.KindAppliance, ID: a.ID}, rules.AlarmPastDate, past, max(by, t.facts.Run.Known), fmt.Sprintf("to be replaced by %s", by))
	}
}

// troubleRules are all that the computation of lint can find.
var troubleRules = []string{rules.CleanPastMaker, rules.LowStaticFlow, rules.AfterFarBelow, rules.AfterPastLimit, rules.OddCycle, rules.LeftChoked}

// troubles turns what the computation found into sights. One that it no longer finds is over where the run is described
// otherwise, or where a full cleaning that was measured afterwards speaks against it.
func (t *tool) troubles() {
	seen := map[string]bool{}
	for _, x := range t.facts.Troubles {
		r, ok := rules.FaultByID(x.Rule)
		if !ok || !x.On.Valid() {
			t.doubt(x.Rule, "the computation found something that no rule is for")
			continue
		}
		seen[x.Rule] = true
		s := Sight{Kind: Found, Rule: x.Rule, Subject: t.at.subject(r), On: x.On, Finding: x.Finding, ByTool: true, Note: figure(x)}
		t.sights = append(t.sights, s)
	}
	cleaned := newest(t.facts.Findings, func(f *vent.Finding) bool { return f.CleanedFully() && slices.ContainsFunc(f.After, isAir) })
	for _, id := range troubleRules {
		r, _ := rules.FaultByID(id)
		s := Sight{Kind: Gone, Rule: id, Subject: t.at.subject(r), ByTool: true, Note: "a later reading no longer shows it"}
		switch {
		case seen[id]:
			continue
		case id == rules.CleanPastMaker && t.version.Route != nil:
			s.On, s.Note = max(t.from, t.facts.Today), "the run as described stands below the maker's limit"
		case id != rules.CleanPastMaker && cleaned.Date.Valid():
			s.On, s.Finding = cleaned.Date, cleaned.ID
		default:
			continue
		}
		t.sights = append(t.sights, s)
	}
}

func figure(x Trouble) string {
	switch {
	case !(x.Value > 0) || !(x.Against > 0):
		return ""
	case x.Rule == rules.CleanPastMaker:
		return fmt.Sprintf("%.2f in w.c. when clean, limit %.2f in w.c.", airflow.Pascals(x.Value).InchesWater(), airflow.Pascals(x.Against).InchesWater())
	}
	return fmt.Sprintf("%.0f %% of the clean value, limit %.0f %%", 100*x.Value, 100*x.Against)
}

// newest gives the newest valid finding that fits; the zero finding where none does.
func newest(findings []vent.Finding, fits func(*vent.Finding) bool) vent.Finding {
	var out vent.Finding
	for i := range findings {
		if f := &findings[i]; f.Counts() && f.Date > out.Date && fits(f) {
			out = *f
		}
	}
	return out
}

// fuseMonths is how close two openings of one-shot devices must be to call for a stop.
const fuseMonths = 12

// secondFuse finds one-shot devices that opened twice within twelve months.
func (t *tool) secondFuse() {
	events := openings(t.facts.Findings)
	r, _ := rules.FaultByID(rules.SecondFuse)
	for i := 1; i < len(events); i++ {
		if within(events[i-1], events[i]) {
			t.sights = append(t.sights, secondSight(t.at.subject(r), events[i-1], events[i]))
		}
	}
}

func within(a, b opening) bool { return b.on <= a.on.AddMonths(fuseMonths) }

func secondSight(subject vent.Subject, first, second opening) Sight {
	return Sight{Kind: Found, Rule: rules.SecondFuse, Subject: subject, On: second.on, Finding: second.finding, ByTool: true, Note: fmt.Sprintf("open on %s and on %s", first.on, second.on)}
}

// opening is a day on which a one-shot device was found open.
type opening struct {
	on      vent.Date
	finding vent.ID
}

// openings lists, by date, each time that a one-shot device opened. A device that is found open again and was not
// replaced in between is the same opening, and so are two devices on one day.
func openings(findings []vent.Finding) []opening {
	var sorted []vent.Finding
	for _, f := range findings {
		if len(f.Parts) > 0 && f.Counts() && f.Date.Valid() {
			sorted = append(sorted, f)
		}
	}
	slices.SortStableFunc(sorted, func(a, b vent.Finding) int {
		return cmp.Or(cmp.Compare(a.Date, b.Date), slices.Compare(a.ID[:], b.ID[:]))
	})
	var out []opening
	still := map[string]bool{} // open and not replaced
	for _, f := range sorted {
		opened := false
		for _, c := range f.Parts {
			p, _ := rules.PartByID(c.Part)
			if !p.OneShot {
				continue
			}
			if c.Result == rules.Open {
				opened = opened || !still[c.Part]
				still[c.Part] = !c.Replaced
			} else if c.Result == rules.Good || c.Replaced {
				still[c.Part] = false
			}
		}
		if opened && (len(out) == 0 || out[len(out)-1].on != f.Date) {
			out = append(out, opening{f.Date, f.ID})
		}
	}
	return out
}
