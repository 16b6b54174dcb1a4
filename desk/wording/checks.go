package wording

import (
	"strconv"
	"strings"

	"ventdue/desk"
	"ventdue/scheduler/faults"
	"ventdue/vent"
	"ventdue/vent/rules"
)

// mostDoors is how many doors a line of checks names before it counts the others.
const mostDoors = 12

// CheckName names a recurring check in a few words; one of a newer program by its id.
func (w Words) CheckName(rule string) string {
	if key := "check." + rule; w.Has(key) {
		return w.Say(key)
	}
	return strings.ReplaceAll(rule, "_", " ")
}

// CheckLine names a line of checks: what is one errand.
func (w Words) CheckLine(l rules.Line) string { return w.Say("check.line." + string(l)) }

// CheckHow says what a recurring check is about, and by whom where not everybody may do it.
func (w Words) CheckHow(rule string) string {
	how := w.CheckName(rule)
	if key := "check.how." + rule; w.Has(key) {
		how = w.Say(key)
	}
	if by := w.CheckBy(rule); by != "" {
		how += " " + by
	}
	return how
}

// CheckBy says who may do a check; "" where anybody may.
func (w Words) CheckBy(rule string) string {
	r, _ := rules.CheckByID(rule)
	if r.By == rules.Licensed || r.By == rules.Competent {
		return w.Say("check.by." + string(r.By))
	}
	return ""
}

// CheckCautions gives the cautions that go with checks, each once.
func (w Words) CheckCautions(all ...string) []string {
	var said []string
	seen := map[string]bool{}
	for _, id := range all {
		r, _ := rules.CheckByID(id)
		for _, c := range r.Cautions {
			if !seen[c] {
				seen[c] = true
				said = append(said, w.Say("check.caution."+c))
			}
		}
	}
	return said
}

// ChecksOf lists the rules that a due of recurring checks asks for.
func ChecksOf(d vent.Due) []string {
	all := []string{d.Reason.Rule}
	if d.Reason.Also != "" {
		all = append(all, strings.Split(d.Reason.Also, ",")...)
	}
	return all
}

// checkWhat says what a due of recurring checks asks for: the check, or the line where there are several.
func (w Words) checkWhat(d vent.Due) string {
	if d.Reason.Also != "" {
		line := faults.LineOf(d.Reason.Rule)
		if key := "check.errand." + string(line); w.Has(key) {
			return w.Say(key)
		}
		return w.CheckLine(line)
	}
	return w.CheckName(d.Reason.Rule)
}

// checkWhy says what is to be looked at, and how many of them where it is more than one of a kind.
func (w Words) checkWhy(d vent.Due) []string {
	all := ChecksOf(d)
	said := make([]string, len(all))
	for i, id := range all {
		said[i] = w.CheckHow(id)
	}
	if n := d.Reason.Readings; n > len(all) {
		said = append(said, w.Say("check.count", "n", strconv.Itoa(n)))
	}
	return said
}

// CheckDoors lists, a sentence for each rule, behind which doors checks are to be done. Where all are behind one, nothing
// is listed: the place says it.
func (w Words) CheckDoors(v desk.DueView) []string {
	if !v.Unit.ID.IsZero() {
		return nil
	}
	var order []string
	doors := map[string][]string{}
	for _, c := range v.Checks {
		if c.Unit.Name == "" {
			continue
		}
		rule := c.Check.Rule
		if doors[rule] == nil {
			order = append(order, rule)
		}
		doors[rule] = append(doors[rule], c.Unit.Name)
	}
	var said []string
	for _, rule := range order {
		names := doors[rule]
		text := strings.Join(names[:min(len(names), mostDoors)], ", ")
		if more := len(names) - mostDoors; more > 0 {
			text += " " + w.Say("check.doors.more", "n", strconv.Itoa(more))
		}
		said = append(said, w.Say("check.doors", "what", w.CheckName(rule), "where", text))
	}
	return said
}
