package web

import (
	"bytes"
	"cmp"
	"crypto/rand"
	"errors"
	"io"
	"mime"
	"net/http"
	"net/url"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"ventdue/desk"
	"ventdue/desk/intake"
	"ventdue/desk/wording"
	"ventdue/vent"
)

const (
	// maxUpload is the largest file that a page takes, in bytes: many times 50 000 rows. Larger ones go by command.
	maxUpload = 32 << 20
	// maxMends is the largest form of cells put right: intake.MaxListed of them, long ones.
	maxMends = 1 << 20
	// maxEdits is how many cells stay put right over all checks of one file.
	maxEdits = 5000
)

// importPage asks for a file.
type importPage struct {
	page
	Problem string
	Units   field
	Columns []columnRow
}

type columnRow struct{ Name, Meaning, Example string }

// uploadPage shows what a check of a file found, lets it be put right, and takes it.
type uploadPage struct {
	page
	File, Key string
	Summary   []string
	Verdict   string
	Bad       []badCell
	More      string
	Good      bool // no problem is left
	SomeGood  bool // some rows are good, and others are not
	Taken     bool
	Empty     bool   // the file holds nothing new
	Unknown   bool   // an unknown column can be passed over
	Mends     string // how many cells were put right so far
}

// badCell is one thing wrong, with the cell to put right where it is one.
type badCell struct {
	Row, Column, What, Remedy string
	Cell                      field // Name "" where it cannot be put right here
}

func (s *server) showImport(w http.ResponseWriter, r *http.Request, v visitor) error {
	return s.importForm(w, v, http.StatusOK, "")
}

func (s *server) importForm(w http.ResponseWriter, v visitor, status int, problem string) error {
	p := importPage{page: s.newPage(v, "import"), Problem: problem}
	f := figures{p.Words}
	p.Title = p.Say("page.import.title")
	p.Units = field{Name: "units", Label: f.Say("page.import.units"), Choices: choices(f, "page.welcome.units.", vent.US, vent.SI)}
	p.Units.choose(string(p.Words.Units))
	for _, c := range intake.Columns() {
		p.Columns = append(p.Columns, columnRow{c.Name, c.Meaning, c.Example})
	}
	return s.render(w, status, "import", p)
}

// uploadImport keeps a file, checks it and shows what it found.
func (s *server) uploadImport(w http.ResponseWriter, r *http.Request, v visitor) error {
	c, late := http.NewResponseController(w), time.Now().Add(longestUpload) // not the pages' clock: the connection's
	_ = errors.Join(c.SetReadDeadline(late), c.SetWriteDeadline(late))      // where it cannot be set the server's own holds
	x, err := readUpload(r)
	if err != nil {
		return err
	}
	if len(x.data) == 0 {
		return s.importForm(w, v, http.StatusUnprocessableEntity, s.words(v).Say("page.import.nothing"))
	}
	x.by = v.actor()
	key := strings.ToLower(rand.Text())
	if err := s.check(r, v, &x); err != nil {
		return err
	}
	s.uploads.keep(key, x, s.now())
	s.seeOther(w, r, "/import/"+key)
	return nil
}

// readUpload reads the form with its file.
func readUpload(r *http.Request) (x broughtFile, err error) {
	if kind, _, _ := mime.ParseMediaType(r.Header.Get("Content-Type")); kind != "multipart/form-data" {
		return x, unreadable{"send the page's own form, as multipart/form-data"}
	}
	parts, err := r.MultipartReader()
	if err != nil {
		return x, formError(err)
	}
	for {
		part, err := parts.NextPart()
		if errors.Is(err, io.EOF) {
			return x, nil
		}
		if err != nil {
			return x, formError(err)
		}
		data, err := io.ReadAll(part)
		if err != nil {
			return x, formError(err)
		}
		switch part.FormName() {
		case "file":
			if part.FileName() != "" {
				x.name, x.data = cleanName(filepath.Base(strings.ReplaceAll(part.FileName(), `\`, "/"))), data
			}
		case "units":
			if u := vent.UnitSystem(data); u == vent.US || u == vent.SI {
				x.units = u
			}
		}
	}
}

// check asks the office what would become of a file, changing nothing.
func (s *server) check(r *http.Request, v visitor, x *broughtFile) (err error) {
	x.report, err = s.desk.Import(r.Context(), s.by(v), x.source(), desk.ImportOptions{Units: x.units, IgnoreUnknown: x.ignore, Mended: x.mends, Rows: true, Check: true})
	return err
}

func (x broughtFile) source() desk.Source {
	return desk.Source{Name: x.name, Reader: bytes.NewReader(x.data)}
}

func (s *server) showUpload(w http.ResponseWriter, r *http.Request, v visitor) error {
	x, ok := s.uploads.get(r.PathValue("key"), s.now())
	if !ok {
		return refusal{status: http.StatusNotFound, key: "upload"}
	}
	return s.render(w, http.StatusOK, "upload", s.uploadPage(v, r.PathValue("key"), x))
}

func (s *server) uploadPage(v visitor, key string, x broughtFile) uploadPage {
	p := uploadPage{page: s.newPage(v, "import"), File: x.name, Key: key, Taken: x.data == nil}
	f := figures{p.Words}
	rep := x.report
	p.Title = p.Say("page.import.check")
	p.Good, p.SomeGood = rep.Problems.Len() == 0, rep.Rows > rep.Bad && rep.Bad > 0 && wholeFile(rep.Problems.Listed)
	p.Empty = p.Good && !rep.Any()
	for _, kind := range importKinds {
		t, ok := rep.Records[kind]
		if ok && (p.Good || p.SomeGood) {
			p.Summary = append(p.Summary, f.Say("page.import.tally", "what", f.Say("page.import.kind."+string(kind)),
				"new", wording.Grouped(t.New), "changed", wording.Grouped(t.Changed), "same", wording.Grouped(t.Unchanged)))
		}
	}
	switch {
	case p.Taken:
		p.Title, p.Verdict = p.Say("page.import.taken"), f.Say("page.import.taken.text", "rows", wording.Grouped(rep.Rows-rep.Bad), "dues", wording.Grouped(rep.Dues.Opened), "told", wording.Grouped(rep.Told))
	case p.Good:
		p.Verdict = f.Say("page.import.good", "rows", wording.Grouped(rep.Rows))
	default:
		p.Verdict = f.Say("page.import.bad", "rows", wording.Grouped(rep.Rows), "bad", wording.Grouped(rep.Bad), "problems", wording.Grouped(rep.Problems.Len()))
	}
	if n := len(x.mends); n > 0 && !p.Taken {
		p.Mends = f.Say("page.import.mended", "n", wording.Grouped(n))
	}
	if p.Taken {
		return p
	}
	for _, y := range rep.Problems.Listed {
		p.Bad = append(p.Bad, f.badCell(y))
		p.Unknown = p.Unknown || isUnknownColumn(y)
	}
	if rep.Problems.More > 0 {
		p.More = f.Say("page.import.more", "n", wording.Grouped(rep.Problems.More))
	}
	return p
}

// importKinds are the nouns whose records an import makes, in the order in which they are told.
var importKinds = []vent.Kind{vent.KindCustomer, vent.KindPerson, vent.KindSite, vent.KindUnit, vent.KindAppliance, vent.KindRun, vent.KindFinding}

// wholeFile reports whether no problem is the file's as a whole: then its good rows can be taken.
func wholeFile(problems []intake.Problem) bool {
	return !slices.ContainsFunc(problems, func(p intake.Problem) bool { return p.Row == 0 })
}

// isUnknownColumn reports whether a problem is a heading that is not documented.
func isUnknownColumn(p intake.Problem) bool {
	return p.Row > 0 && p.Value == "" && p.Column != "" && !slices.Contains(intake.ColumnNames(), p.Column)
}

// badCell shows a problem; a cell of a table can be put right, but not one that was cut because it is long.
func (f figures) badCell(p intake.Problem) badCell {
	b := badCell{Row: f.Say("page.import.file"), Column: p.Column, What: p.What, Remedy: p.Remedy}
	if p.Row > 0 {
		b.Row = f.Say("page.import.at", "row", strconv.Itoa(p.Row))
	}
	if p.Row == 0 || p.Column == "" || strings.HasSuffix(p.Value, "…") {
		return b
	}
	value := p.Value
	if isUnknownColumn(p) {
		value = p.Column // what is to be put right is the heading itself
	}
	b.Cell = field{Name: "cell " + strconv.Itoa(p.Row) + " " + p.Column, Value: value, Mark: strconv.Itoa(p.Row),
		Label: f.Say("page.import.cell", "row", strconv.Itoa(p.Row), "column", p.Column)}
	return b
}

// mendUpload puts cells right and checks again, takes the file, or forgets it.
func (s *server) mendUpload(w http.ResponseWriter, r *http.Request, v visitor) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	key := r.PathValue("key")
	x, ok := s.uploads.get(key, s.now())
	if !ok || x.data == nil {
		return refusal{status: http.StatusNotFound, key: "upload"}
	}
	do := r.PostForm.Get("do")
	if do == "drop" {
		s.uploads.drop(key)
		s.seeOther(w, r, "/import")
		return nil
	}
	x.mends = x.mend(r.PostForm)
	x.ignore = x.ignore || r.PostForm.Has("ignore")
	if err := s.check(r, v, &x); err != nil {
		return err
	}
	if good := x.report.Problems.Len() == 0; do == "take" && good || do == "good" {
		report, err := s.desk.Import(r.Context(), s.by(v), x.source(), desk.ImportOptions{Units: x.units, IgnoreUnknown: x.ignore, Mended: x.mends, Rows: true, KeepGood: do == "good"})
		if err != nil {
			return err
		}
		x.report = report
		if report.Stored {
			x.data = nil
		}
	}
	s.uploads.keep(key, x, s.now())
	s.seeOther(w, r, "/import/"+key)
	return nil
}

// mend adds the cells of a form to those that were put right before; of one cell the last word counts.
func (x broughtFile) mend(sent url.Values) []intake.Mend {
	all := slices.Clone(x.mends)
	was := map[string]string{}
	for _, p := range x.report.Problems.Listed {
		was["cell "+strconv.Itoa(p.Row)+" "+p.Column] = cmp.Or(p.Value, p.Column)
	}
	for name, values := range sent {
		rest, ok := strings.CutPrefix(name, "cell ")
		row, column, _ := strings.Cut(rest, " ")
		number, err := strconv.Atoi(row)
		if !ok || err != nil || column == "" || values[0] == was[name] || len(all) >= maxEdits {
			continue
		}
		all = slices.DeleteFunc(all, func(m intake.Mend) bool { return m.Row == number && m.Column == column })
		all = append(all, intake.Mend{Row: number, Column: column, Value: values[0]})
	}
	return all
}
