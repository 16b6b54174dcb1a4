package rules

import (
	"fmt"
	"strings"

	"ventdue/vent"
)

// Tables gives all rules as a document in Markdown.
func Tables() string {
	var d doc
	d.line("# Rules")
	d.line("")
	d.line("Made from the data of this folder by `go test ./vent/rules -update`; do not edit it by hand.")
	d.line("")
	d.line("Local codes and the maker's instructions come first. A deadline is advice, not a permit to wait.")
	d.line("\"Read at second hand\" was seen in an account of the document, \"from memory\" in none, \"ours\" was set by this program.")
	d.faults()
	d.signs()
	d.parts()
	d.hunt()
	d.checks()
	d.closeOut()
	d.cautions()
	return d.String()
}

type doc struct{ strings.Builder }

func (d *doc) line(s string) { d.WriteString(s + "\n") }

func (d *doc) table(title string, head ...string) {
	d.line("\n## " + title + "\n")
	d.row(head...)
	d.line(strings.Repeat("|---", len(head)) + "|")
}

func (d *doc) row(cells ...string) {
	d.line("| " + strings.Join(cells, " | ") + " |")
}

func (d *doc) faults() {
	d.table("Faults", "id", "looks like", "what puts it right", "severity", "found by", "put right by", "source", "cautions")
	for _, f := range faults {
		cautions := f.CautionsAt(f.GasOnly, false)
		d.row("`"+f.ID+"`", f.Looks, f.Do, grades(f), string(f.FoundBy), string(f.By), sources(f.Sources), strings.Join(cautions, ", "))
	}
}

// grades tells a fault's severity and deadline, and where they are graver.
func grades(f Fault) string {
	s := grade(f.Grade)
	if g := f.At(true, false); g != f.Grade {
		s += "; gas: " + grade(g)
	}
	if g := f.At(false, true); g != f.Grade {
		s += "; shared run: " + grade(g)
	}
	if f.NotBefore > 0 {
		s += fmt.Sprintf(", not before %d", f.NotBefore)
	}
	return s
}

func grade(g Grade) string {
	if g.Severity == vent.Stop {
		return "stop"
	}
	unit := "days"
	if g.Days == 1 {
		unit = "day"
	}
	return fmt.Sprintf("%s, %d %s", g.Severity, g.Days, unit)
}

func sources(list []Source) string {
	texts := make([]string, len(list))
	for i, s := range list {
		texts[i] = s.String()
	}
	return strings.Join(texts, "; ")
}

func (d *doc) signs() {
	d.table("Signs", "sign", "noticed", "look within", "what they are told", "source")
	for _, s := range signs {
		when := grade(s.Grade)
		if g := s.At(true); g != s.Grade {
			when += "; gas: " + grade(g)
		}
		d.row("`"+string(s.Kind)+"`", s.Looks, when, s.Say, sources(s.Sources))
	}
}

func (d *doc) parts() {
	d.table("Parts", "id", "part", "sound", "open explains", "does not open explains", "kind", "checked by", "source")
	for _, p := range parts {
		kind := "-"
		switch {
		case p.OneShot:
			kind = "one-shot: replaced, never reset or bypassed"
		case p.Resets:
			kind = "resets"
		}
		if p.Pair != "" {
			kind += ", replaced together with " + p.Pair
		}
		open := symptoms(p.Open)
		if p.ByModel {
			open = "no_start or no_heat, as the model has it"
		}
		d.row("`"+p.ID+"`", p.Name, p.Healthy, open, symptoms(p.Stuck), kind, string(p.By), sources(p.Sources))
	}
}

func symptoms(list []vent.Symptom) string {
	if len(list) == 0 {
		return "-"
	}
	return names(list, func(s vent.Symptom) string { return string(s) })
}

func (d *doc) hunt() {
	d.table("An open one-shot device", "step", "what", "when", "by")
	for _, s := range hunt {
		d.row("`"+s.ID+"`", s.Text, string(s.When), string(s.By))
	}
}

func (d *doc) checks() {
	d.table("Recurring checks", "id", "what", "months", "at most", "by", "line", "source")
	for _, c := range checks {
		d.row("`"+c.ID+"`", c.What, fmt.Sprint(c.Months), fmt.Sprint(c.Most), string(c.By), string(c.Line), sources(c.Sources))
	}
}

func (d *doc) closeOut() {
	d.table("Before a visit is done", "id", "what", "by", "where", "must")
	for _, l := range closeOut {
		where, must := "all", "yes"
		if l.GasOnly {
			where = "gas"
		}
		if !l.Wanted {
			must = "no"
		}
		d.row("`"+l.ID+"`", l.Text, string(l.By), where, must)
	}
}

func (d *doc) cautions() {
	d.table("Cautions", "id", "text", "source")
	for _, c := range cautions {
		d.row("`"+c.ID+"`", c.Text, c.Source.String())
	}
}
