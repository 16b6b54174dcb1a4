package notify

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"text/template"

	"ventdue/desk"
	"ventdue/desk/wording"
	"ventdue/vent"
)

// templatesOf writes files into a folder and loads them.
func templatesOf(t testing.TB, files map[string]string) (Templates, error) {
	t.Helper()
	dir := t.TempDir()
	for name, text := range files {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return LoadTemplates(dir)
}

func mustTemplates(t testing.TB, files map[string]string) Templates {
	t.Helper()
	own, err := templatesOf(t, files)
	if err != nil {
		t.Fatal(err)
	}
	return own
}

// The built-in words, taken as a template, change not one byte: each kind, each language, each tense, and digests.
func TestBuiltInTemplatesChangeNothing(t *testing.T) {
	files := map[string]string{}
	for _, kind := range vent.NoticeKinds() {
		for _, lang := range wording.Languages() {
			text, err := BuiltIn(kind, lang)
			if err != nil {
				t.Fatal(err)
			}
			files[string(kind)+"."+lang+".tmpl"] = text
		}
	}
	own := larkspur
	own.Templates = mustTemplates(t, files)
	all := letters()
	for name, r := range reminders() {
		all["reminder "+name] = r
	}
	for name, r := range all {
		for _, lang := range wording.Languages() {
			r.Person.Language = lang
			if got, want := composed(t, own, r).Raw, composed(t, larkspur, r).Raw; !bytes.Equal(got, want) {
				t.Errorf("%s.%s differs:\n%s\nwant\n%s", name, lang, got, want)
			}
		}
	}
}

// An operator's words stand where they are to stand, and all of the built-in mail but subject and title is still there.
func TestOwnWords(t *testing.T) {
	own := larkspur
	own.Templates = mustTemplates(t, map[string]string{
		"run_due.en.tmpl": `{{define "subject"}}{{.Name}}, {{.Date}} at {{.Where}}{{end}}
{{define "title"}}Time for your dryer{{if .Phone}}, call {{.Phone}}{{end}}{{end}}
{{define "intro"}}Good day {{.Name}}.

<b>Second</b> paragraph.{{end}}
{{define "closing"}}Yours, {{.Operator}}{{end}}`,
		"stop.en.tmpl":    `{{define "closing"}}We are sorry.{{end}}`,
		"summary.es.tmpl": `{{define "subject"}}Hoy{{end}}`,
		"README.txt":      "{{ not looked at",
		".#draft.tmpl":    "{{ nor this",
	})
	all := letters()
	m := readGo(t, composed(t, own, all["run_due"]).Raw)
	if got, want := m.Header["subject"][0], "Ida Lund, Mon 9 March 2026 at Maple House, flat 1"; got != want { // 2 March 2026 was a Monday
		t.Errorf("subject %q, want %q", got, want)
	}
	sameInHTML(t, m.Text, m.HTML)
	if strings.Contains(m.HTML, "<b>") {
		t.Error("a template's markup came in")
	}
	before := 0
	for _, want := range []string{"Time for your dryer, call 555-0100", "By Mon 9 March 2026", "Good day Ida Lund.\n\n", "<b>Second</b> paragraph.", "Where: ", "Yours, Larkspur Vent Care"} {
		i := strings.Index(m.Text, want)
		if i < before {
			t.Errorf("%q is missing or too early in\n%s", want, m.Text)
		}
		before = i
	}
	for name, r := range all {
		for _, lang := range wording.Languages() {
			r.Person.Language = lang
			plain, dressed := readGo(t, composed(t, larkspur, r).Raw).Text, readGo(t, composed(t, own, r).Raw).Text
			_, kept, _ := strings.Cut(plain, "\n\n") // below title and date
			for line := range strings.SplitSeq(kept, "\n") {
				if !strings.Contains(dressed, line) {
					t.Errorf("%s.%s: the template drops %q", name, lang, line)
				}
			}
		}
	}
	digest := readGo(t, composed(t, own, aReminder(item(1, 7), item(2, 9))).Raw)
	if got := digest.Header["subject"][0]; got != "Ida Lund, Mon 9 March 2026 at Maple House, flat 1 and 1 more" {
		t.Errorf("of two: %q", got)
	}
}

// A broken template is refused with its file and line, and nothing of the folder is taken.
func TestBrokenTemplates(t *testing.T) {
	for _, c := range []struct{ file, text, says string }{
		{"run_due.en.tmpl", "{{define \"subject\"}}\n{{.Date{{end}}", "run_due.en.tmpl: line:2"},
		{"run_due.en.tmpl", "{{define \"subject\"}}\n\n{{.Datum}}{{end}}", "line:3:2: there is no field .Datum"},
		{"run_due.en.tmpl", "{{define \"intro\"}}{{if eq .Was \"x\"}}\n{{.Nobody}}{{end}}{{end}}", "line:2:2: there is no field .Nobody"},
		{"run_due.en.tmpl", "Dear {{.Name}}", "line:1:0: words stand outside"},
		{"run_due.en.tmpl", `{{define "footer"}}x{{end}}`, `has no part "footer"`},
		{"stop.en.tmpl", `{{define "subject"}}All is well{{end}}`, `has no part "subject"`},
		{"run_due.en.tmpl", `{{define "intro"}}{{range 1000000000}}x{{end}}{{end}}`, "is not for mail templates"},
		{"run_due.en.tmpl", `{{define "intro"}}{{printf "%999999d" 1}}{{end}}`, "printf is not for mail templates"},
		{"run_due.en.tmpl", `{{define "intro"}}{{template "intro" .}}{{end}}`, "is not for mail templates"},
		{"run_due.en.tmpl", `{{define "intro"}}{{.Name | html}}{{end}}`, "variables and |"},
		{"run_due.en.tmpl", `{{define "intro"}}{{.}}{{end}}`, "is not for mail templates"},
		{"run_due.en.tmpl", `{{define "intro"}}{{$x := .Name}}{{end}}`, "variables and |"},
		{"run_due.en.tmpl", `{{define "intro"}}{{eq .Name}}{{end}}`, "line:1:"},
		{"run_due.en.tmpl", `{{define "subject"}}` + strings.Repeat("long ", 100) + `{{end}}`, "too much text"},
		{"run_due.en.tmpl", strings.Repeat(" ", maxTemplate+1), "at most 16384 bytes"},
		{"run_due.en.tmpl", "{{define \"intro\"}}\xff{{end}}", "UTF-8"},
		{"run_duo.en.tmpl", "", "KIND.LANGUAGE.tmpl"},
		{"run_due.fr.tmpl", "", "KIND.LANGUAGE.tmpl"},
		{"run_due.tmpl", "", "KIND.LANGUAGE.tmpl"},
	} {
		_, err := templatesOf(t, map[string]string{c.file: c.text, "record.en.tmpl": `{{define "intro"}}fine{{end}}`})
		if err == nil || !strings.Contains(err.Error(), c.says) || !strings.Contains(err.Error(), c.file) {
			t.Errorf("%s %.60q: %v, want %q", c.file, c.text, err, c.says)
		}
	}
	if _, err := LoadTemplates(filepath.Join(t.TempDir(), "missing")); err == nil {
		t.Error("a folder that is missing")
	}
}

// Where a template fails on what it is to tell, the built-in words go out: the mail is not lost.
func TestTemplateTooLongForItsFields(t *testing.T) {
	own := larkspur
	own.Templates = mustTemplates(t, map[string]string{"run_due.en.tmpl": `{{define "subject"}}{{.Where}} {{.Where}} {{.Where}}{{end}}`})
	r := aReminder(item(1, 7, func(it *desk.ReminderItem) { it.Site.Name = strings.Repeat("Maple ", 60) }))
	if got := readGo(t, composed(t, own, r).Raw).Header["subject"][0]; !strings.HasPrefix(got, "Clean the dryer vent by") {
		t.Errorf("%q", got)
	}
}

// Whatever a template is, it is refused or the mail that it makes is one: no header and no markup more, and every caution.
func FuzzTemplates(f *testing.F) {
	for _, text := range []string{`{{define "subject"}}{{.Name}}{{end}}`, "{{define \"subject\"}}a\r\nBcc: all@example.com{{end}}", `{{define "title"}}<script>{{.Name}}</script>{{end}}`,
		`{{define "intro"}}{{if or .Was (not .Name)}}</body>{{.Address}}{{end}}{{end}}`, `{{define "line"}}{{end}}`, "{{define \"closing\"}}\u2028\x00{{end}}", `{{block "intro" .}}{{end}}`} {
		f.Add(text, "Maple\r\nBcc: all@example.com\r\n\r\n<script>")
		f.Add(text, "{{.Name}}{{range 9}}")
	}
	plain := readGo(f, composed(f, larkspur, letters()["run_due"]).Raw)
	f.Fuzz(func(t *testing.T, text, name string) {
		own, err := parseTemplate(templateName{vent.NoticeRunDue, "en"}, text)
		if err != nil {
			return
		}
		s := larkspur
		s.Templates = Templates{by: map[templateName]*template.Template{{vent.NoticeRunDue, "en"}: own}}
		r := letters()["run_due"]
		r.Person.Name, r.Items[0].Site.Address = name, name
		raw := composed(t, s, r).Raw
		checkLines(t, raw)
		m := readGo(t, raw)
		for h, values := range m.Header {
			if _, known := plain.Header[h]; !known || len(values) != 1 {
				t.Errorf("header %s: %q", h, values)
			}
		}
		if strings.Contains(strings.ToLower(m.HTML), "<script") || strings.Count(m.HTML, "</body>") != 1 {
			t.Error("markup came in")
		}
		for _, c := range []string{"caution.smell", "caution.power", "caution.codes"} {
			if !strings.Contains(m.Text, wording.For("en", vent.US).Say(c)) {
				t.Errorf("caution %s is gone", c)
			}
		}
	})
}
