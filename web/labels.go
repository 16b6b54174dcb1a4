package web

import (
	"html/template"
	"net/http"
	"strconv"
	"strings"

	"ventdue/desk"
	"ventdue/desk/picture"
	"ventdue/vent"
	"ventdue/vent/airflow"
)

// labelSites is how many buildings the list of labels shows at most.
const labelSites = 200

// labelsPage chooses a building and prints the labels of its dryers.
type labelsPage struct {
	page
	Query string
	Sites []labelSite
	More  bool

	Site, ID, Run  string // of the building that was chosen; its id and, where only one is printed, the run's
	Sheet          field
	Skip           field
	Sheets         []template.HTML // drawn by us, every text in it escaped
	NoRuns, NoBase bool
}

type labelSite struct{ Name, Address, Link string }

func (s *server) showLabels(w http.ResponseWriter, r *http.Request, v visitor) error {
	q := r.URL.Query()
	p := labelsPage{page: s.newPage(v, ""), Query: q.Get("q")}
	p.Title = p.Say("page.labels.title")
	if q.Get("site") == "" {
		sites, more, err := s.desk.Sites(p.Query, labelSites)
		if err != nil {
			return err
		}
		p.More = more
		for _, x := range sites {
			p.Sites = append(p.Sites, labelSite{x.Name, x.Address, s.root + "/labels?site=" + x.ID.String()})
		}
		return s.render(w, http.StatusOK, "labels", p)
	}
	id, err := vent.ParseID(q.Get("site"))
	if err != nil {
		return vent.ErrNotFound
	}
	at, err := s.desk.LabelSite(id)
	if err != nil {
		return err
	}
	p.Site, p.ID, p.Run, p.NoBase = at.Site.Name, id.String(), q.Get("run"), s.baseURL == ""
	status, err := s.drawLabels(&p, r, at)
	if err != nil {
		return err
	}
	return s.render(w, status, "labels", p)
}

// drawLabels reads the sheet that was asked for and draws it.
func (s *server) drawLabels(p *labelsPage, r *http.Request, at desk.LabelSite) (status int, err error) {
	f := figures{p.Words}
	q := r.URL.Query()
	sheets := picture.Sheets()
	sheet := sheets[0]
	if f.us() {
		sheet = sheets[4]
	}
	for _, x := range sheets {
		if x.ID() == q.Get("sheet") {
			sheet = x
		}
	}
	p.Sheet = field{Name: "sheet", Label: p.Say("page.labels.sheet")}
	for _, x := range sheets {
		p.Sheet.Choices = append(p.Sheet.Choices, choice{Value: x.ID(), Label: f.sheet(x), Chosen: x.ID() == sheet.ID()})
	}
	p.Skip = field{Name: "skip", Label: p.Say("page.labels.skip"), Hint: p.Say("page.labels.skip.hint"), Value: q.Get("skip")}
	skip := 0
	if p.Skip.Value != "" {
		if skip, err = strconv.Atoi(p.Skip.Value); err != nil || skip < 0 || skip >= sheet.Each() {
			p.Skip.Problem = p.Say("page.labels.skip.problem", "n", strconv.Itoa(sheet.Each()-1))
			return http.StatusUnprocessableEntity, nil
		}
	}
	var labels []picture.Label
	for _, x := range at.Runs {
		if p.Run == "" || p.Run == x.Run.ID.String() {
			labels = append(labels, picture.Label{Address: s.base(r) + s.signs.Path(x.Run.ID), Lines: f.label(x, at.Operator, s.desk.Policy().Dates.Edition)})
		}
	}
	p.NoRuns = len(labels) == 0
	pages, err := picture.Print(p.Words, sheet, labels, skip)
	for _, page := range pages {
		p.Sheets = append(p.Sheets, template.HTML(page))
	}
	return http.StatusOK, err
}

// base is what addresses begin with that are read away from the browser: where no base address is set, what the browser
// asked for.
func (s *server) base(r *http.Request) string {
	switch {
	case s.baseURL != "":
		return s.baseURL
	case r.TLS != nil:
		return "https://" + r.Host
	}
	return "http://" + r.Host
}

// sheet says a sheet's paper, labels and their size.
func (f figures) sheet(s picture.Sheet) string {
	width, height := f.Say("page.unit.mm", "n", decimals(s.W, 1)), f.Say("page.unit.mm", "n", decimals(s.H, 1))
	if s.Name == "letter" {
		width, height = f.Say("page.unit.in", "n", decimals(s.W/25.4, 3)), f.Say("page.unit.in", "n", decimals(s.H/25.4, 3))
	}
	return f.Say("page.labels.of."+s.Name, "columns", strconv.Itoa(s.Columns), "rows", strconv.Itoa(s.Rows), "width", width, "height", height)
}

func decimals(v float64, n int) string {
	s := strconv.FormatFloat(v, 'f', n, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

// label gives the words of one run's label, the most important first: where it is, what to do at once, whom to call, and
// the duct's length where the rule asks for a label of it.
func (f figures) label(x desk.Labelled, o vent.Operator, edition string) []string {
	lines := []string{x.Label(), f.Say("label.danger"), f.Say("label.scan")}
	if o.Phone != "" {
		lines = append(lines, f.Say("label.call", "operator", o.Name, "phone", o.Phone))
	}
	if said := f.lengthLabel(x.Run.Current(), edition); said != "" {
		lines = append(lines, said)
	}
	return lines
}

// lengthLabel is the text that the rule wants near the duct's connection; "" where it wants none or the run was never
// described.
func (f figures) lengthLabel(v vent.Version, edition string) string {
	if v.Route == nil {
		return ""
	}
	if v.Edition != "" {
		edition = v.Edition
	}
	rule, err := airflow.RuleFor(airflow.Edition(edition))
	if err != nil {
		return ""
	}
	c, err := rule.CodeLength(*v.Route)
	if err != nil || !c.LabelNeeded {
		return ""
	}
	return f.Say("label.length", "length", f.Length(c.Length), "limit", f.Length(c.Limit), "rule", rule.Title)
}
