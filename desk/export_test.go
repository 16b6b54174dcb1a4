package desk

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"slices"
	"strings"
	"testing"

	"ventdue/store"
	"ventdue/vent"
)

// lived gives an office with a history: an import, a recorded cleaning, a notice with its message.
func lived(t *testing.T) *Desk {
	t.Helper()
	d := importDesk(t, vent.Customers)
	mustImport(t, d, 0, string(asCSV(t, fleet(30))))
	all := readAll(t, d)
	if _, err := d.Record(on(5), vent.Finding{RunID: all.runs[0].ID, Date: vent.NewDate(2026, 3, 7), Source: "visit",
		By: vent.Doer{Kind: vent.ByUs}, Outcome: vent.Full, Note: "<b>&\u2028"}); err != nil {
		t.Fatal(err)
	}
	err := d.Store().Update(on(6), func(tx *store.Tx) error {
		due, person := all.dues[3], all.persons[0]
		n := vent.Notice{ID: tx.NewID(), Kind: vent.NoticeRunDue, State: vent.NoticeSent, Created: tx.Now(), Settled: tx.Now(), Day: due.Day,
			Key: vent.NoticeKey{PersonID: person.ID, Thing: vent.Subject{Kind: vent.KindDue, ID: due.ID}, Opener: due.Opener, Step: "due", Channel: vent.ByMail}}
		return store.Notices.Put(tx, n, "")
	})
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func TestExportOfAnImportIsTheSame(t *testing.T) {
	d := lived(t)
	first := exportOf(t, d)
	other := importDesk(t, vent.Customers)
	// The operator is set there already, and the same: identical records are no change.
	r := doImport(t, other, 9, "all.jsonl", string(first), ImportOptions{})
	if !r.Stored || !r.Dump || r.Problems.Len() > 0 {
		t.Fatalf("stored %v, problems %v", r.Stored, r.Problems.Listed)
	}
	wantTally(t, r, vent.KindNotice, Tally{New: 2}) // the one that was sent, and the record of the visit, which waits
	wantTally(t, r, vent.KindRun, Tally{New: 30})
	second := exportOf(t, other)
	// The audit line of setting the operator is the other installation's own.
	if !bytes.Equal(withoutAudit(first), withoutAudit(second)) {
		t.Error("the export of an import differs")
	}
	again := doImport(t, other, 10, "all.jsonl", string(first), ImportOptions{})
	if !again.Stored || again.Any() {
		t.Errorf("again: %+v", again)
	}
	if n := len(readAll(t, other).notices); n != 2 {
		t.Errorf("%d notices, want the one that was sent and the one that waits", n)
	}

	empty := emptyDesk(t)
	if r := doImport(t, empty, 9, "all.jsonl", string(first), ImportOptions{}); !r.Stored {
		t.Fatalf("problems %v", r.Problems.Listed)
	}
	if !bytes.Equal(first, exportOf(t, empty)) {
		t.Error("the export of an import into an empty installation differs")
	}
}

// swapped exchanges two lines.
func swapped(text string, a, b int) string {
	lines := strings.SplitAfter(text, "\n")
	lines[a], lines[b] = lines[b], lines[a]
	return strings.Join(lines, "")
}

// asWritten gives an export its proper last line again, so that only the change before it can be refused.
func asWritten(text string) string {
	lines := strings.SplitAfter(text, "\n")
	records := lines[1:]
	if i := slices.IndexFunc(lines, func(l string) bool { return strings.Contains(l, exportEnd) }); i > 0 {
		records = append(slices.Clone(lines[1:i]), lines[i+1:]...)
	}
	all := strings.Join(records, "")
	return fmt.Sprintf("%s%s{\"kind\":%q,\"records\":%d,\"sha256\":\"%x\"}\n", lines[0], all, exportEnd, strings.Count(all, "\n"), sha256.Sum256([]byte(all)))
}

// A tool that was given the export's form alone counts and sums it as we do.
func TestTheLastLineOfAnExport(t *testing.T) {
	export := string(exportOf(t, lived(t)))
	if want := asWritten(export); export != want {
		t.Errorf("the last line is %q", export[strings.LastIndex(strings.TrimSpace(export), "\n"):])
	}
}

func withoutAudit(export []byte) []byte {
	var out []byte
	for line := range bytes.Lines(export) {
		if !bytes.HasPrefix(line, []byte(`{"kind":"audit"`)) && !bytes.Contains(line, []byte(exportEnd)) {
			out = append(out, line...)
		}
	}
	return out
}

func TestExportsThatDiffer(t *testing.T) {
	d := lived(t)
	export := string(exportOf(t, d))
	before := exportOf(t, d)
	for name, x := range map[string]struct{ text, says string }{
		"a run with another name": {asWritten(strings.Replace(export, `"name":"Dryer vent"`, `"name":"Other vent"`, 1)), "differs in name"},
		"an unknown kind":         {asWritten(export + `{"kind":"teapot","record":{}}` + "\n"), "teapot"},
		"an unknown field":        {asWritten(export + `{"kind":"run","record":{"legs":4}}` + "\n"), "legs"},
		"no record":               {asWritten(export + `{"kind":"run"}` + "\n"), "missing"},
		"half a line":             {asWritten(export + `{"kind":"run","rec` + "\n"), "not a record"},
		"cut between lines":       {strings.Join(strings.SplitAfter(export, "\n")[:20], ""), "too early: after 19 records"},
		"a line taken out":        {strings.Join(slices.Delete(strings.SplitAfter(export, "\n"), 5, 6), ""), "its last line says"},
		"a line in another place": {swapped(export, 5, 6), "check sum"},
		"two exports in one file": {export + export, "follows"},
		"no head":                 {export[strings.Index(export, "\n")+1:], "first line"},
		"a newer version":         {strings.Replace(export, `"version":1`, `"version":2`, 1), "first line"},
	} {
		t.Run(name, func(t *testing.T) {
			r := doImport(t, d, 10, "all.jsonl", x.text, ImportOptions{})
			if r.Stored || r.Problems.Len() == 0 || !strings.Contains(r.Problems.Err().Error(), x.says) {
				t.Errorf("stored %v, problems %v", r.Stored, r.Problems.Listed)
			}
			if n := r.Problems.Len(); name == "no head" && n != 1 {
				t.Errorf("one mistake makes %d problems: %v", n, r.Problems.Listed)
			}
			if !bytes.Equal(before, exportOf(t, d)) {
				t.Error("a refused export changed something")
			}
		})
	}
	r := doImport(t, emptyDesk(t), 10, "all.jsonl", export, ImportOptions{Check: true})
	if r.Stored || r.Records[vent.KindRun].New != 30 {
		t.Errorf("check: %+v", r)
	}
}
