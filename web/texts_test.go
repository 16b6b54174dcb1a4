package web

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"ventdue/desk/wording"
	"ventdue/vent"
	"ventdue/vent/airflow"
	"ventdue/vent/rules"
)

// Every text that the pages may ask for is in the catalogue.
func TestEveryTextIsThere(t *testing.T) {
	words := wording.For("en", vent.US)
	has := func(where, key string) {
		if !words.Has(key) {
			t.Errorf("%s: no text for %q", where, key)
		}
	}
	key := regexp.MustCompile(`"(page\.[a-z_.0-9]*[a-z_0-9])"`)
	refused := regexp.MustCompile(`key(?:: | = )"([a-z]+)"`)
	for _, pattern := range []string{"*.go", "templates/*.html"} {
		names, err := filepath.Glob(pattern)
		if err != nil || len(names) == 0 {
			t.Fatalf("%s: %v, %v", pattern, names, err)
		}
		for _, name := range names {
			if strings.HasSuffix(name, "_test.go") {
				continue
			}
			source, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			for _, m := range key.FindAllStringSubmatch(string(source), -1) {
				has(name, m[1])
			}
			if name == "errors.go" || name == "guard.go" || name == "web.go" || name == "api.go" {
				for _, m := range refused.FindAllStringSubmatch(string(source), -1) {
					has(name, "page.error."+m[1])
					has(name, "page.error."+m[1]+".text")
				}
			}
		}
	}
	for _, m := range airflow.Materials() {
		has("materials", "page.material."+string(m))
	}
	for _, k := range airflow.FittingKinds() {
		has("fittings", "page.fitting."+string(k))
	}
	for _, k := range airflow.OutletKinds() {
		has("outlets", "page.outlet."+string(k))
	}
	for _, c := range airflow.DryerClasses() {
		has("classes", "page.class."+string(c))
	}
	for _, q := range []vent.Quantity{vent.AirSpeed, vent.Static, vent.Flow, vent.ExhaustT, vent.Flap, vent.DryMinutes, vent.LintMass, vent.Ohms} {
		has("quantities", "page.reading."+string(q))
	}
	for _, k := range []vent.Kind{vent.KindOperator, vent.KindCustomer, vent.KindSite, vent.KindPerson} {
		has("feeds", "page.feeds.shows."+string(k))
	}
	for _, f := range rules.Faults() {
		has("fault rules", "page.party."+string(f.By))
		has("fault rules", "page.seen."+string(f.On))
	}
	for _, x := range []vent.Symptom{vent.NoStart, vent.NoHeat, vent.NoHeatSetting, vent.Overheats} {
		has("symptoms", "page.symptom."+string(x))
	}
	for _, x := range rules.Parts() {
		for _, result := range x.Results {
			has("parts", "page.part."+result)
		}
	}
	for step, fields := range stepFields {
		has("steps", "page.close."+step)
		has("steps", "page.close."+step+".go")
		for _, x := range fields {
			has("steps", "page.close.field."+x.name)
		}
	}
	for _, f := range []vent.Fuel{"", vent.Electric, vent.Gas, vent.Ventless} {
		has("fuels", "page.fuel."+string(f))
	}
}
