package web

import (
	"errors"
	"maps"
	"mime"
	"net/http"
	"slices"
	"time"

	"ventdue/desk"
	"ventdue/desk/intake"
	"ventdue/store"
	"ventdue/vent"
)

const (
	// largestImport is the largest file that a program may send, in bytes: several times what 100 000 rows need.
	largestImport = 256 << 20
	// longestImport is how long it may take.
	longestImport = 10 * time.Minute
)

type apiImportQuery struct {
	Check         bool   `query:"check" description:"change nothing, tell what would change"`
	KeepGood      bool   `query:"keep_good" description:"take the good rows although others have problems"`
	IgnoreUnknown bool   `query:"ignore_unknown" description:"skip columns that are not documented"`
	Units         string `query:"units" enum:"us,si" description:"of plain numbers; without it the operator's"`
	Sheet         string `query:"sheet" description:"of an xlsx file; without it the first"`
	Name          string `query:"name" description:"the file's name, for the audit trail"`
}

// apiImported is what an import did, or would do.
type apiImported struct {
	Stored   bool                     `json:"stored"` // the file's good rows are stored now
	Rows     int                      `json:"rows"`
	Bad      int                      `json:"bad"`
	Problems []apiCell                `json:"problems"`                // in the order of the rows
	More     int                      `json:"more_problems,omitempty"` // beyond those listed
	Records  map[vent.Kind]desk.Tally `json:"records"`
	Planned  int                      `json:"planned"` // runs whose dates were computed
	Queued   int                      `json:"queued"`  // other runs whose dates will be computed soon
	Told     int                      `json:"told"`    // people who have a mail coming now
	Dues     store.Changes            `json:"dues"`
}

// apiCell is what is wrong with one cell of a file.
type apiCell struct {
	Row    int    `json:"row,omitempty"` // as a spreadsheet counts, the header being row 1; left out: the whole file
	Column string `json:"column,omitempty"`
	Value  string `json:"value,omitempty"`
	What   string `json:"what"`
	Remedy string `json:"remedy,omitempty"`
}

// apiImport takes a file, the body itself. Rows with problems are an answer like any other where only a check was asked
// for; else, where nothing was stored for their sake, the answer is 422 and says the same.
func (s *server) apiImport(w http.ResponseWriter, r *http.Request, v visitor) error {
	q := r.URL.Query()
	kind, _, _ := mime.ParseMediaType(r.Header.Get("Content-Type"))
	format, ok := fileKinds[kind]
	if !ok {
		return refusal{status: http.StatusUnsupportedMediaType, key: "file"}
	}
	yes := func(name string) bool { return q.Get(name) == "true" }
	o := desk.ImportOptions{Units: vent.UnitSystem(q.Get("units")), Sheet: q.Get("sheet"), Check: yes("check"), KeepGood: yes("keep_good"), IgnoreUnknown: yes("ignore_unknown"), Rows: true}
	switch o.Units {
	case "", vent.US, vent.SI:
	default:
		return vent.Problems{{Field: "units", Value: q.Get("units"), Text: "is not known: use us or si"}}
	}
	c, late := http.NewResponseController(w), time.Now().Add(longestImport) // not the pages' clock: the connection's
	_ = errors.Join(c.SetReadDeadline(late), c.SetWriteDeadline(late))      // where it cannot be set the server's own holds
	name := q.Get("name")
	if name == "" {
		name = "import." + string(format)
	}
	report, err := s.desk.Import(r.Context(), s.by(v), desk.Source{Name: name, Format: format, Reader: r.Body}, o)
	if err != nil {
		return err
	}
	out := apiImported{Stored: report.Stored, Rows: report.Rows, Bad: report.Bad, Records: report.Records, Planned: report.Planned, Queued: report.Queued,
		Told: report.Told, Dues: report.Dues, More: report.Problems.More, Problems: each(listed(report.Problems.Listed), func(p intake.Problem) apiCell { return apiCell(p) })}
	status := http.StatusOK
	if !o.Check && !report.Stored && report.Problems.Len() > 0 {
		status = http.StatusUnprocessableEntity
	}
	return writeJSON(w, status, out)
}

var fileKinds = map[string]intake.Format{
	"text/csv": intake.CSV, "application/jsonl": intake.JSONL, "application/x-ndjson": intake.JSONL,
	"application/vnd.openxmlformats-officedocument.spreadsheetml.sheet": intake.XLSX,
}

// apiFileRoutes names the addresses for whole files. An export holds what no program of the office needs, such as hashes of
// passwords: it is for the command alone.
func (s *server) apiFileRoutes() []route {
	return []route{
		apiFor(vent.Office, vent.TokenAll, "POST /api/import", s.apiImport).upTo(largestImport).says(apiDoc{ID: "importFile",
			Summary: "Bring in a file, all or nothing. With problems nothing is stored and the answer is 422, unless the good rows are to be kept. The same file again changes nothing",
			Query:   apiImportQuery{}, File: slices.Sorted(maps.Keys(fileKinds)), Out: apiImported{}, Status: []int{http.StatusOK, http.StatusUnprocessableEntity}}),
	}
}
