package web

import (
	"net/http"
	"strings"
	"testing"

	"ventdue/store"
	"ventdue/vent"
)

// plate gives the house's dryers a heater plate of 240 V and 5 000 W.
func (h *house) plate() {
	h.update(func(tx *store.Tx) error {
		all, err := store.Collect(store.Appliances.All(tx))
		for _, a := range all {
			a.Volts, a.Watts, a.FuseStops = 240, 5000, vent.StopsMotor
			if err := store.Appliances.Put(tx, a, "plate"); err != nil {
				return err
			}
		}
		return err
	})
}

// Part checks go in by the page, and what follows from them stands there after saving. 240² V / 5 000 W is 11.52 ohm.
func TestPartChecksOnThePage(t *testing.T) {
	h := newHouse(t, nil)
	h.setOperator(vent.US)
	id := h.add(maple())[0]
	h.plate()
	blank := h.page(runPath(id.run))
	checkPage(t, "run", blank)
	wantText(t, blank, "By its plate 11.5 Ω", "thermal fuse")
	wantNoText(t, blank, "part-igniter")

	r := h.post(runPath(id.run)+"/findings", visit("symptom", "no_start", "part-thermal_fuse", "open", "part-thermal_fuse-replaced", "yes",
		"part-heater", "good", "part-heater-reading", "11.4 ohm", "part-cycling_thermostat", "good", "counter", "4 210"))
	if r.status != http.StatusSeeOther {
		t.Fatalf("%d\n%s", r.status, text(r.body))
	}
	page := h.page(r.header.Get("Location"))
	checkPage(t, "recorded", page)
	wantText(t, page, "What was wrong is explained: the drum does not turn", "thermal fuse: bad", "It opens once, for ever: replace it, never reset or bypass it.",
		"heater: sound, 11.4 ohm, by the plate 11.52", "cycling thermostat: not decided, continuity cold does not pass it", "To be looked at next, in this order", "counter 4 210")
	view, err := h.desk.Run(h.by(), id.run)
	if err != nil {
		t.Fatal(err)
	}
	f := view.Findings[0]
	if f.Symptom != vent.NoStart || len(f.Parts) != 3 || f.LoadCounter != 4210 || f.Parts[0].Part != "thermal_fuse" || !f.Parts[0].Replaced {
		t.Fatalf("stored %+v", f)
	}

	// The correction's form holds what was said; sent as it is it says the same.
	form := h.page(runPath(id.run) + "?correct=" + f.ID.String())
	checkPage(t, "correct", form)
	for _, want := range []string{`<option value="open" selected>`, `value="11.4 ohm"`, `value="4210"`, `name="part-thermal_fuse-replaced" value="yes" checked`, `value="no_start" checked`} {
		if !strings.Contains(form, want) {
			t.Errorf("the correction does not hold %s", want)
		}
	}
	r = h.post(runPath(id.run)+"/findings", visit("corrects", f.ID.String(), "symptom", "", "part-heater", "shorted_to_case", "part-heater-reading", "200", "part-heater-case", "yes"))
	if r.status != http.StatusSeeOther {
		t.Fatalf("%d\n%s", r.status, text(r.body))
	}
	wantText(t, h.page(r.header.Get("Location")), "heater: bad, a reading to the case", "Still to be replaced: heater.", "do not use")
	view, _ = h.desk.Run(h.by(), id.run)
	if c := view.Findings[0]; !c.Counts() { // of one day the correction stands first
		view.Findings = view.Findings[1:]
	}
	for _, f := range view.Findings {
		if f.Counts() && (len(f.Parts) != 1 || f.Parts[0].Reading == nil || f.Parts[0].Reading.Place != "case" || f.Symptom != "") {
			t.Errorf("corrected to %+v", f)
		}
	}
}

func TestPartChecksThatCannotBe(t *testing.T) {
	h := newHouse(t, nil)
	h.setOperator(vent.US)
	id := h.add(maple())[0]
	for name, c := range map[string]struct {
		fields []string
		says   string
	}{
		"no figure":            {[]string{"part-heater", "good", "part-heater-reading", "warm"}, "neither a resistance"},
		"replaced, not looked": {[]string{"part-thermal_fuse", "not_checked", "part-thermal_fuse-replaced", "yes"}, "was replaced without being checked"},
		"no result":            {[]string{"part-heater-reading", "11"}, "cannot be the result for the heater"},
		"case, no reading":     {[]string{"part-heater", "shorted_to_case", "part-heater-case", "yes"}, "Give the reading that was taken to the case"},
		"to the case, good":    {[]string{"part-heater", "good", "part-heater-reading", "5", "part-heater-case", "yes"}, "a sound part gives none"},
		"negative":             {[]string{"part-heater", "good", "part-heater-reading", "-4"}, "heater"},
		"heat at a fuse":       {[]string{"part-thermal_fuse", "good", "part-thermal_fuse-reading", "151 F"}, "says nothing of the thermal fuse"},
		"no such symptom":      {[]string{"symptom", "sad"}, "What was wrong with the dryer"},
		"counter":              {[]string{"counter", "many"}, "whole number of loads"},
		"counter below zero":   {[]string{"counter", "-4"}, "whole number of loads"},
		"result of another":    {[]string{"part-thermal_fuse", "stuck_closed"}, "cannot be the result for the thermal fuse"},
	} {
		r := h.post(runPath(id.run)+"/findings", visit(c.fields...))
		if r.status != http.StatusUnprocessableEntity {
			t.Errorf("%s: %d", name, r.status)
			continue
		}
		checkPage(t, name, r.body)
		wantText(t, r.body, c.says)
		for i := 0; i < len(c.fields); i += 2 {
			if strings.HasSuffix(c.fields[i], "-reading") && !strings.Contains(r.body, `value="`+c.fields[i+1]+`"`) {
				t.Errorf("%s: what was typed is lost", name)
			}
		}
	}
	if view, _ := h.desk.Run(h.by(), id.run); len(view.Findings) != 0 {
		t.Errorf("%d findings were recorded", len(view.Findings))
	}
}
