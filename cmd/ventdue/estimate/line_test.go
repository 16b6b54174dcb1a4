package estimate

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"os/exec"
	"reflect"
	"slices"
	"strings"
	"testing"

	"ventdue/internal/outside"
	"ventdue/scheduler/due"
	"ventdue/vent"
)

// options are those of every test here: a fixed day.
func options() *Options {
	return &Options{Policy: due.Default(), Units: vent.US, Today: vent.NewDate(2026, 11, 25)}
}

func lines(t testing.TB, file string) []string {
	t.Helper()
	b, err := os.ReadFile("testdata/" + file)
	if err != nil {
		t.Fatal(err)
	}
	return strings.Split(strings.TrimSpace(string(b)), "\n")
}

// refusal is one line of testdata/refused.txt.
type refusal struct {
	line     string
	words    []string
	bySchema bool
}

func refusals(t testing.TB) (all []refusal) {
	t.Helper()
	for _, l := range lines(t, "refused.txt") {
		if strings.HasPrefix(l, "#") {
			continue
		}
		l, bySchema := strings.CutPrefix(l, "schema ")
		parts := strings.Split(l, " | ")
		all = append(all, refusal{parts[0], parts[1:], bySchema})
	}
	return all
}

func TestGoodLines(t *testing.T) {
	for i, l := range lines(t, "good.jsonl") {
		a, err := One(options(), []byte(l))
		if err != nil {
			t.Errorf("line %d: %v", i+1, err)
			continue
		}
		if a.Due == 0 || a.Earliest > a.Due || a.Due > a.Latest || len(a.Reason) == 0 || a.Limit == "" || a.Bound == "" {
			t.Errorf("line %d: %+v", i+1, a)
		}
	}
}

func TestRefusedLines(t *testing.T) {
	for _, r := range refusals(t) {
		_, err := One(options(), []byte(r.line))
		if err == nil {
			t.Errorf("%s: taken", r.line)
			continue
		}
		for _, w := range r.words {
			if !strings.Contains(err.Error(), w) {
				t.Errorf("%s:\n  %v\n  does not say %q", r.line, err, w)
			}
		}
		if strings.ContainsAny(err.Error(), "\n\r") || strings.Contains(err.Error(), "program failed") {
			t.Errorf("%s: %q", r.line, err)
		}
	}
}

// TestEveryDocumentedFieldIsTaken: every property that the schema names stands in a good line, so that none is documented
// in vain; and in every object of a good line an unknown member is refused by its name.
func TestEveryDocumentedFieldIsTaken(t *testing.T) {
	var schema map[string]any
	raw, err := Schema()
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(raw, &schema); err != nil {
		t.Fatal(err)
	}
	want := map[string]bool{}
	documented(schema, "", want)
	seen := map[string]bool{}
	for _, l := range lines(t, "good.jsonl") {
		var v any
		if err := json.Unmarshal([]byte(l), &v); err != nil {
			t.Fatal(err)
		}
		used(v, seen)
		for _, with := range strangers(v) {
			b, err := json.Marshal(with)
			if err != nil {
				t.Fatal(err)
			}
			if _, err := One(options(), b); err == nil || !strings.Contains(err.Error(), "stranger_here") {
				t.Errorf("%s: %v", b, err)
			}
		}
	}
	for _, name := range slices.Sorted(maps.Keys(want)) {
		if !seen[name] {
			t.Errorf("%s is documented, but stands in no good line", name)
		}
	}
}

// documented gathers the names of all properties of a schema.
func documented(v any, key string, into map[string]bool) {
	switch x := v.(type) {
	case map[string]any:
		for k, y := range x {
			if key == "properties" {
				into[k] = true
			}
			documented(y, k, into)
		}
	case []any:
		for _, y := range x {
			documented(y, "", into)
		}
	}
}

// used gathers the names of all members of a value.
func used(v any, into map[string]bool) {
	switch x := v.(type) {
	case map[string]any:
		for k, y := range x {
			into[k] = true
			used(y, into)
		}
	case []any:
		for _, y := range x {
			used(y, into)
		}
	}
}

// strangers gives copies of a value, each with an unknown member in another one of its objects.
func strangers(v any) (all []any) {
	switch x := v.(type) {
	case map[string]any:
		here := maps.Clone(x)
		here["stranger_here"] = 1
		all = append(all, here)
		for k, y := range x {
			for _, z := range strangers(y) {
				with := maps.Clone(x)
				with[k] = z
				all = append(all, with)
			}
		}
	case []any:
		for i, y := range x {
			for _, z := range strangers(y) {
				with := slices.Clone(x)
				with[i] = z
				all = append(all, with)
			}
		}
	}
	return all
}

// TestFindingsAreWhole: whatever an export has of a finding can be given.
func TestFindingsAreWhole(t *testing.T) {
	for _, name := range jsonNames(reflect.TypeFor[vent.Finding]()) {
		if _, ok := tables().finding.byName[name]; !ok {
			t.Errorf("a finding's %s is not known", name)
		}
	}
}

func jsonNames(t reflect.Type) (names []string) {
	for i := range t.NumField() {
		name, _, _ := strings.Cut(t.Field(i).Tag.Get("json"), ",")
		names = append(names, name)
	}
	return names
}

// TestSchemaWithAValidator asks a validator that is not ours: the schema is one, takes the good lines, and refuses those
// refused lines whose fault is one of form.
func TestSchemaWithAValidator(t *testing.T) {
	python := outside.Need(t, "python3")
	const program = `
import json, sys
try:
    import jsonschema
except ImportError:
    sys.exit(77)
schema, cases = json.load(sys.stdin)
jsonschema.Draft202012Validator.check_schema(schema)
v = jsonschema.Draft202012Validator(schema)
for line, good in cases:
    if v.is_valid(json.loads(line)) != good:
        print(("refused: " if good else "taken: ") + line, [e.message[:200] for e in v.iter_errors(json.loads(line))])
`
	raw, err := Schema()
	if err != nil {
		t.Fatal(err)
	}
	var cases [][2]any
	for _, l := range lines(t, "good.jsonl") {
		cases = append(cases, [2]any{l, true})
	}
	for _, r := range refusals(t) {
		if r.bySchema {
			cases = append(cases, [2]any{r.line, false})
		}
	}
	in, err := json.Marshal([]any{json.RawMessage(raw), cases})
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range []string{python, "/usr/bin/python3"} {
		c := exec.Command(p, "-c", program)
		c.Stdin = bytes.NewReader(in)
		out, err := c.CombinedOutput()
		if c.ProcessState != nil && c.ProcessState.ExitCode() == 77 {
			continue
		}
		if err != nil || len(out) > 0 {
			t.Errorf("%v\n%s", err, out)
		}
		return
	}
	outside.Missing(t, "python3-jsonschema")
}

// TestTwoForms: the same run told in feet or metres, by columns or as exported, has the same answer.
func TestTwoForms(t *testing.T) {
	rest := `"dryer":{"fuel":"electric"},"use":5,"findings":[{"date":"2026-03-02","outcome":"full","before":%s,"after":%s}]}`
	tell := func(run, before, after string) string {
		return fmt.Sprintf(`{"run":{%s},`+rest, run, before, after)
	}
	want := mustOne(t, options(), tell(`"duct_length":"25 ft","elbows_90":2,"transition_length":"5 ft"`, `{"air_speed":"1000 fpm"}`, `{"air_speed":"1500 fpm"}`))
	si := options()
	si.Units = vent.SI
	for name, c := range map[string]struct {
		o    *Options
		line string
	}{
		"plain numbers": {options(), tell(`"duct_length":25,"elbows_90":"2","transition_length":5,"duct_diameter":4`, `{"air_speed":1000}`, `{"air_speed":"1500"}`)},
		// 1 ft is 0.3048 m and 1 ft/min 0.00508 m/s by definition.
		"metres": {si, tell(`"duct_length":7.62,"elbows_90":2,"transition_length":1.524,"duct_diameter":101.6`, `{"air_speed":5.08}`, `{"air_speed":7.62}`)},
		"exported": {options(), tell(`"route":{"transition":{"material":"semi_rigid_metal","length":1.524,"diameter":0.1016},"sections":[{"material":"smooth_metal","length":7.62,"diameter":0.1016}],"fittings":[{"kind":"mitered_90_r4","count":2}],"outlet":{"kind":"flapper"}}`,
			`[{"quantity":"air_speed","value":5.08}]`, `[{"quantity":"air_speed","value":7.62}]`)},
	} {
		got := mustOne(t, c.o, c.line)
		if got.Due != want.Due || got.Chance != want.Chance || got.Growth != want.Growth {
			t.Errorf("%s: %+v, want %+v", name, got, want)
		}
	}
}

func mustOne(t testing.TB, o *Options, line string) Answer {
	t.Helper()
	a, err := One(o, []byte(line))
	if err != nil {
		t.Fatalf("%s: %v", line, err)
	}
	return a
}

// TestOrderOfFindings: they may come in any order, and a corrected one counts no more.
func TestOrderOfFindings(t *testing.T) {
	const a = `{"date":"2025-03-02","outcome":"full","reach":"through","before":{"air_speed":"1100 fpm"},"after":{"air_speed":"1500 fpm"}}`
	const b = `{"date":"2026-03-02","outcome":"full","reach":"through","before":{"air_speed":"1200 fpm"},"after":{"air_speed":"1500 fpm"}}`
	const wrong = `{"date":"2026-10-02","outcome":"full","replaced_by":"01970000-0000-7000-8000-000000000003"}`
	tell := func(f string) Answer {
		return mustOne(t, options(), `{"run":{"duct_length":"25 ft","elbows_90":2},"dryer":{"fuel":"electric"},"use":5,"findings":[`+f+`]}`)
	}
	want := tell(a + "," + b)
	for _, f := range []string{b + "," + a, a + "," + wrong + "," + b} {
		if got := tell(f); !reflect.DeepEqual(got, want) {
			t.Errorf("%s: %+v, want %+v", f, got, want)
		}
	}
}

// TestPanicIsOneLinesError: what upsets the program costs one line.
func TestPanicIsOneLinesError(t *testing.T) {
	_, err := One(nil, []byte(`{"run":{"duct_length":"25 ft"},"dryer":{"fuel":"gas"}}`)) // no options at all
	if err == nil || !strings.Contains(err.Error(), "program failed") || !strings.Contains(err.Error(), "ventdue/cmd/ventdue/estimate") {
		t.Errorf("%v", err)
	}
}

func FuzzOne(f *testing.F) {
	for _, l := range lines(f, "good.jsonl") {
		f.Add([]byte(l))
	}
	for _, r := range refusals(f) {
		f.Add([]byte(r.line))
	}
	o := options()
	f.Fuzz(func(t *testing.T, line []byte) {
		line = bytes.TrimSpace(line)
		if len(line) == 0 {
			t.Skip()
		}
		a, err := One(o, line)
		switch {
		case err != nil && strings.Contains(err.Error(), "program failed"):
			t.Error(err)
		case err != nil:
		case a.Earliest > a.Due || a.Due > a.Latest || !a.Due.Valid() || !(a.Chance >= 0 && a.Chance <= 1) || !(a.Growth.Per100Loads >= 0):
			t.Errorf("%+v", a)
		}
	})
}
