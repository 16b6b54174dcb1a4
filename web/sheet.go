package web

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"mime"
	"net/http"
	"strconv"
	"strings"
	"unicode"

	"ventdue/desk"
	"ventdue/vent"
	"ventdue/vent/airflow"
)

// sheetQuantities are the readings that have columns of their own.
var sheetQuantities = []vent.Quantity{vent.AirSpeed, vent.Static, vent.Flow, vent.ExhaustT, vent.Flap, vent.DryMinutes, vent.LintMass}

func (s *server) runSheet(w http.ResponseWriter, r *http.Request, v visitor) error {
	record, err := s.runService(r, v)
	if err != nil {
		return err
	}
	return s.visitSheet(w, v, record)
}

func (s *server) findingSheet(w http.ResponseWriter, r *http.Request, v visitor) error {
	record, err := s.findingService(r, v)
	if err != nil {
		return err
	}
	return s.visitSheet(w, v, record)
}

// visitSheet writes one row for each finding.
func (s *server) visitSheet(w http.ResponseWriter, v visitor, record desk.ServiceRecord) error {
	f := figures{s.words(v)}
	head := []string{"site", "address", "unit", "run", "run_id", "date", "outcome", "reach", "by", "by_name", "symptom", "lint_before", "lint_after"}
	for _, when := range []string{"before", "after"} {
		for _, q := range sheetQuantities {
			head = append(head, string(q)+"_"+when+"_"+f.column(q))
		}
	}
	rows := [][]string{append(head, "faults_seen", "put_right", "parts", "close_out", "load_counter", "note", "recorded", "counts")}
	p := record.Place
	for _, x := range record.Findings {
		row := []string{p.Site.Name, p.Site.Address, p.Unit.Name, p.Run.Name, p.Run.ID.String(), x.Date.String(), string(x.Outcome), string(x.Reach),
			string(x.By.Kind), x.By.Name, string(x.Symptom), string(x.LintBefore), string(x.LintAfter)}
		row = append(row, f.cells(x.Before)...)
		row = append(row, f.cells(x.After)...)
		counter := ""
		if x.LoadCounter > 0 {
			counter = strconv.FormatInt(x.LoadCounter, 10)
		}
		rows = append(rows, append(row, strings.Join(x.Faults, "; "), strings.Join(x.Fixed, "; "), strings.Join(each(x.Parts, f.part), "; "),
			strings.Join(x.CloseOut, "; "), counter, x.Note, x.Recorded.String(), strconv.FormatBool(x.Counts())))
	}
	return s.sheet(w, p.Label(), record.Today, rows)
}

// siteSheet writes one row for each run of a building.
func (s *server) siteSheet(w http.ResponseWriter, r *http.Request, v visitor) error {
	record, err := s.siteService(r, v)
	if err != nil {
		return err
	}
	f := figures{s.words(v)}
	speed := string(vent.AirSpeed) + "_" + f.column(vent.AirSpeed)
	static := string(vent.Static) + "_" + f.column(vent.Static)
	rows := [][]string{{"site", "address", "customer", "unit", "run", "run_id", "fuel", "dryer", "state", "last_cleaned", "last_visit", "last_outcome",
		speed, static, "open_faults", "first_deadline", "next", "next_date", "latest", "why"}}
	for _, x := range record.Runs {
		rows = append(rows, f.siteRow(record, x))
	}
	return s.sheet(w, record.Site.Name, record.Today, rows)
}

func (f figures) siteRow(record desk.SiteService, x desk.RunStanding) []string {
	_, state := f.standing(x.Dues, x.Faults, record.Today)
	measured := x.Last.After
	if len(measured) == 0 {
		measured = x.Last.Before
	}
	var open []string
	var deadline vent.Date
	for _, fault := range x.Faults {
		if !standsOpen(fault, record.Today) && fault.State != vent.FaultWaived {
			continue
		}
		open = append(open, f.rule(fault.Rule))
		if standsOpen(fault, record.Today) && fault.Deadline != 0 && (deadline == 0 || fault.Deadline < deadline) {
			deadline = fault.Deadline
		}
	}
	row := []string{record.Site.Name, record.Site.Address, record.Customer.Name, x.Unit.Name, x.Run.Name, x.Run.ID.String(), string(x.Dryer.Fuel),
		strings.TrimSpace(x.Dryer.Maker + " " + x.Dryer.Model), state, x.Clean.Date.String(), x.Last.Date.String(), string(x.Last.Outcome),
		f.cell(measured, vent.AirSpeed), f.cell(measured, vent.Static), strings.Join(open, "; "), deadline.String()}
	dues := inTurn(x.Dues)
	if len(dues) == 0 {
		return append(row, "", "", "", "")
	}
	return append(row, f.What(dues[0]), dues[0].Day.String(), dues[0].Latest.String(), strings.Join(f.Reason(dues[0]), " "))
}

// column names the unit of a quantity's column.
func (f figures) column(q vent.Quantity) string {
	us, si := map[vent.Quantity]string{vent.AirSpeed: "fpm", vent.Static: "inwc", vent.Flow: "cfm", vent.ExhaustT: "f"},
		map[vent.Quantity]string{vent.AirSpeed: "mps", vent.Static: "pa", vent.Flow: "lps", vent.ExhaustT: "c", vent.Flap: "percent", vent.DryMinutes: "min", vent.LintMass: "g"}
	if unit, ok := us[q]; ok && f.us() {
		return unit
	}
	return si[q]
}

func (f figures) cells(readings []vent.Reading) []string {
	all := make([]string, len(sheetQuantities))
	for i, q := range sheetQuantities {
		all[i] = f.cell(readings, q)
	}
	return all
}

// cell gives the last reading of a quantity as a bare figure in the column's unit; "" where there is none.
func (f figures) cell(readings []vent.Reading, q vent.Quantity) string {
	for i := len(readings) - 1; i >= 0; i-- {
		if readings[i].Quantity == q {
			return strconv.FormatFloat(f.shown(q, readings[i].Value), 'f', -1, 64)
		}
	}
	return ""
}

// shown turns a stored figure into the column's unit, rounded to what instruments show.
func (f figures) shown(q vent.Quantity, v float64) float64 {
	switch {
	case q == vent.AirSpeed && f.us():
		return rounded(airflow.MetersPerSecond(v).FeetPerMinute(), 0)
	case q == vent.AirSpeed:
		return rounded(v, 2)
	case q == vent.Static && f.us():
		return rounded(airflow.Pascals(v).InchesWater(), 3)
	case q == vent.Flow && f.us():
		return rounded(airflow.CubicMetersPerSecond(v).CFM(), 1)
	case q == vent.Flow:
		return rounded(airflow.CubicMetersPerSecond(v).LitersPerSecond(), 1)
	case q == vent.ExhaustT && f.us():
		return rounded(airflow.Celsius(v).Fahrenheit(), 1)
	case q == vent.Flap:
		return rounded(v*100, 0)
	case q == vent.LintMass:
		return rounded(v*1000, 1)
	}
	return rounded(v, 1)
}

func rounded(v float64, decimals int) float64 {
	r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'f', decimals, 64), 64)
	if err != nil {
		return v
	}
	return r
}

// sheet sends rows as a csv file (RFC 4180) for spreadsheets: with the mark by which they know UTF-8, and with nothing in it
// that they would run.
func (s *server) sheet(w http.ResponseWriter, name string, today vent.Date, rows [][]string) error {
	b := bytes.NewBufferString("\ufeff")
	out := csv.NewWriter(b)
	out.UseCRLF = true
	for _, row := range rows {
		for i, c := range row {
			row[i] = harmless(c)
		}
	}
	if err := out.WriteAll(rows); err != nil {
		return fmt.Errorf("write the csv file: %w", err)
	}
	h := w.Header()
	h.Set("Content-Type", "text/csv; charset=utf-8; header=present")
	h.Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": fileName("service record "+name) + "-" + today.String() + ".csv"}))
	h.Set("Content-Length", strconv.Itoa(b.Len()))
	_, _ = w.Write(b.Bytes()) // whoever asked may have gone
	return nil
}

// harmless keeps a spreadsheet from taking a text for a formula: a quote before it makes it text. A plain negative figure
// is none. Control characters have no place in a cell.
func harmless(cell string) string {
	cell = strings.Map(func(r rune) rune {
		switch {
		case r == '\n':
			return r
		case unicode.IsControl(r):
			return ' '
		}
		return r
	}, strings.ToValidUTF8(cell, "\uFFFD"))
	start := strings.TrimLeftFunc(cell, unicode.IsSpace)
	if start == "" || !strings.ContainsRune("=+-@\uff1d\uff0b\uff0d\uff20", []rune(start)[0]) {
		return cell
	}
	if _, err := strconv.ParseFloat(cell, 64); err == nil {
		return cell
	}
	return "'" + cell
}

// fileName keeps the letters and digits of a name, in a length that every file system takes.
func fileName(name string) string {
	words := strings.FieldsFunc(name, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) && r != '-' })
	r := []rune(strings.Join(words, "-"))
	return string(r[:min(len(r), 60)])
}
