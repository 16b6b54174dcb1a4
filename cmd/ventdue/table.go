package main

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"ventdue/cmd/ventdue/call"
	"ventdue/desk"
	"ventdue/desk/picture"
	"ventdue/desk/wording"
	"ventdue/scheduler"
	"ventdue/vent"
	"ventdue/vent/rules"
)

// table is what commands can ask of whoever holds the data file.
func (h *house) table() call.Table {
	t := call.Table{
		opDues:         call.Answer(h.askDues),
		opExplain:      call.Answer(h.askExplain),
		opRecord:       call.Answer(h.askRecord),
		opPhoto:        call.Answer(h.askPhoto),
		opFeeds:        call.Answer(h.askFeeds),
		opFeedMake:     call.Answer(h.askFeedMake),
		opFeedRotate:   call.Answer(h.askFeedRotate),
		opFeedRevoke:   call.Answer(h.askFeedRevoke),
		opSetup:        call.Answer(h.askSetup),
		opMailList:     call.Answer(h.askMail),
		opMailBounce:   call.Answer(h.askBounce),
		opMailTest:     call.Answer(h.askMailTest),
		opMailPreview:  call.Answer(h.askMailPreview),
		opMailChannels: call.Answer(h.askMailChannels),
		opBackup:       call.Answer(h.askBackup),
		opVerify:       call.Answer(h.askVerify),
		opErase:        call.Answer(h.askErase),
		opImport:       call.Answer(h.askImport),
		opExport:       call.Stream(h.askExport),
		opBacktest:     call.Answer(h.askBacktest),
		opFaults:       call.Answer(h.askFaults),
		opFault:        call.Answer(h.askFault),
		opSign:         call.Answer(h.askSign),
		opVisits:       call.Answer(h.askVisits),
		opVisitPlan:    call.Answer(h.askVisitPlan),
		opVisitDo:      call.Answer(h.askVisit),
		opVisitAhead:   call.Answer(h.askVisitAhead),
		opVisitLink:    call.Answer(h.askVisitLink),
		opTechnician:   call.Answer(h.askTechnician),
		opChecks:       call.Answer(h.askChecks),
		opCheck:        call.Answer(h.askCheck),
		opAlarm:        call.Answer(h.askAlarm),
	}
	maps.Copy(t, h.accountTable())
	return t
}

// The operations' names.
const (
	opDues         = "dues"
	opExplain      = "explain"
	opRecord       = "record"
	opPhoto        = "photo"
	opFeeds        = "feeds"
	opFeedMake     = "feed.make"
	opFeedRotate   = "feed.rotate"
	opFeedRevoke   = "feed.revoke"
	opSetup        = "setup"
	opMailList     = "mail.list"
	opMailBounce   = "mail.bounce"
	opMailChannels = "mail.channels"
	opMailTest     = "mail.test"
	opMailPreview  = "mail.preview"
	opBackup       = "backup"
	opVerify       = "verify"
	opErase        = "erase"
	opImport       = "import"
	opExport       = "export"
	opFaults       = "faults"
	opFault        = "fault"
	opSign         = "sign"
)

func by(r call.Request) desk.By { return desk.By{Now: r.Now, Actor: r.Actor} }

// on moves a request to the noon of another day at the operator's office: what --today asks for.
func (h *house) on(r call.Request, today vent.Date) (call.Request, error) {
	if today == 0 {
		return r, nil
	}
	o, err := h.desk.Operator()
	if err != nil {
		return r, err
	}
	zone, err := time.LoadLocation(o.Zone)
	if err != nil {
		return r, err
	}
	r.Now = today.At(12*60, zone)
	return r, nil
}

type duesArgs struct {
	Today vent.Date `json:"today,omitzero"`
	From  vent.Date `json:"from,omitzero"`
	To    vent.Date `json:"to,omitzero"` // last day shown
	Place string    `json:"place,omitempty"`
	Max   int       `json:"max,omitempty"`
}

// dueLine is a due as the command prints it and as its --json gives it.
type dueLine struct {
	Run      vent.ID      `json:"run,omitzero"` // none: recurring checks of a site
	Site     vent.ID      `json:"site"`
	Ref      string       `json:"run_ref,omitempty"`
	What     vent.DueKind `json:"what"`
	Rule     string       `json:"rule,omitempty"` // of a fault, sign or check
	Text     string       `json:"text"`           // what is to be done, in words
	State    string       `json:"state"`
	Day      vent.Date    `json:"day"`
	Earliest vent.Date    `json:"earliest"`
	Latest   vent.Date    `json:"latest"`
	Away     string       `json:"away"`
	Where    string       `json:"where"`
	Customer string       `json:"customer"`
	Unknown  bool         `json:"last_cleaning_unknown,omitempty"`
	Why      string       `json:"why"`
	UID      string       `json:"uid"`
}

type duesAnswer struct {
	Today vent.Date `json:"today"`
	Dues  []dueLine `json:"dues"`
	Total int       `json:"total"`
}

func (h *house) words() (wording.Words, error) {
	o, err := h.desk.Operator()
	return wording.For(o.Language, o.Units).By(o.Clock), err
}

func (h *house) askDues(_ context.Context, r call.Request, a duesArgs) (duesAnswer, error) {
	r, err := h.on(r, a.Today)
	if err != nil {
		return duesAnswer{}, err
	}
	w, err := h.words()
	if err != nil {
		return duesAnswer{}, err
	}
	q := desk.DueQuery{From: a.From}
	if a.To != 0 {
		q.To = a.To.AddDays(1)
	}
	list, err := h.desk.Dues(by(r), q)
	if err != nil {
		return duesAnswer{}, err
	}
	out := duesAnswer{Today: list.Today, Dues: []dueLine{}, Total: list.Total}
	for _, v := range list.Dues {
		if a.Place != "" && !v.Fits(a.Place) {
			continue
		}
		out.Dues = append(out.Dues, lineOf(w, v, list.Today))
	}
	out.Total = len(out.Dues)
	urgentFirst(out.Dues)
	if a.Max > 0 && len(out.Dues) > a.Max {
		out.Dues = out.Dues[:a.Max]
	}
	return out, nil
}

// urgentFirst puts what must stop first, then what was never known to be cleaned or is overdue, then the rest by day.
func urgentFirst(dues []dueLine) {
	rank := map[string]int{"stop": 0, "unknown": 1, "overdue": 1}
	of := func(d dueLine) int {
		if r, urgent := rank[d.State]; urgent {
			return r
		}
		return 2
	}
	slices.SortStableFunc(dues, func(a, b dueLine) int { return cmp.Or(of(a)-of(b), int(a.Day-b.Day)) })
}

func lineOf(w wording.Words, v desk.DueView, today vent.Date) dueLine {
	away := w.Away(v.Due.Day, today)
	if v.Due.Unknown {
		away = w.Say("away.unknown", "date", w.Date(v.Due.Day))
	}
	return dueLine{
		Run: v.Run.ID, Site: v.Site.ID, Ref: v.Run.Ref, What: v.Due.Kind, Rule: v.Due.Reason.Rule, Text: w.What(v.Due), State: wording.StateKey(v.Due, today), Day: v.Due.Day, Earliest: v.Due.Earliest,
		Latest: v.Due.Latest, Away: away, Where: v.Label(), Customer: v.Customer.Name, Unknown: v.Due.Unknown,
		Why: w.Reason(v.Due)[0], UID: v.Due.UID,
	}
}

type runArgs struct {
	Run     string    `json:"run"`
	Today   vent.Date `json:"today,omitzero"`
	Picture bool      `json:"picture,omitempty"`
}

type explainAnswer struct {
	Where    string         `json:"where"`
	Customer string         `json:"customer"`
	Run      vent.ID        `json:"run"`
	Dues     []explainedDue `json:"dues"`
	Cautions []string       `json:"cautions"`
	Findings int            `json:"findings"`
	Faults   []faultLine    `json:"faults"` // open and put off
	// Sharper is what would move the cleaning's date most, if it were found out today; "" where nothing would.
	Sharper string `json:"sharper,omitempty"`
	// Doubts is what cannot be judged as it is recorded, and what is missing for it.
	Doubts []string `json:"doubts,omitempty"`

	Flow     scheduler.Course `json:"flow"`              // over time: what the picture is drawn from
	FlowText string           `json:"flow_text"`         // what the picture shows, in words
	Picture  []byte           `json:"picture,omitempty"` // svg, where it was asked for
}

type explainedDue struct {
	dueLine
	Title   string      `json:"title"`
	Date    string      `json:"date"`
	Reasons []string    `json:"reasons"`
	Figures []string    `json:"figures,omitempty"` // the numbers, in words
	Numbers vent.Reason `json:"numbers"`
}

func (h *house) askExplain(_ context.Context, r call.Request, a runArgs) (explainAnswer, error) {
	r, err := h.on(r, a.Today)
	if err != nil {
		return explainAnswer{}, err
	}
	id, err := h.desk.FindRun(a.Run)
	if err != nil {
		return explainAnswer{}, err
	}
	v, err := h.desk.Run(by(r), id)
	if err != nil {
		return explainAnswer{}, err
	}
	w, err := h.words()
	if err != nil {
		return explainAnswer{}, err
	}
	out := explainAnswer{Where: v.Label(), Customer: v.Customer.Name, Run: id, Dues: []explainedDue{},
		Cautions: w.Cautions(v.Dryer, v.Place.Run.Current()), Findings: len(v.Findings)}
	for _, d := range v.Dues {
		view := desk.DueView{Due: d, Place: v.Place}
		out.Dues = append(out.Dues, explainedDue{dueLine: lineOf(w, view, v.Today), Title: w.What(d), Date: w.Date(d.Day),
			Reasons: w.Reason(d), Figures: w.Numbers(d), Numbers: d.Reason})
	}
	faults, _, err := h.desk.Faults(by(r), desk.FaultQuery{Run: id})
	if err != nil {
		return out, err
	}
	out.Faults = faultLinesOf(faults)
	doubts, err := h.desk.Doubts(by(r), id)
	if err != nil {
		return out, err
	}
	for _, d := range doubts {
		out.Doubts = append(out.Doubts, d.Rule+": "+d.Why)
	}
	sharper, err := h.desk.Sharpen(by(r), id)
	if err != nil {
		return out, err
	}
	out.Sharper = w.Sharper(sharper)
	if out.Flow, err = h.desk.Course(by(r), id); err != nil {
		return out, err
	}
	flow := picture.Flow{Course: out.Flow, Where: v.Label(), Today: v.Today, Alone: true}
	out.FlowText = flow.Text(w)
	if a.Picture {
		out.Picture = flow.SVG(w)
	}
	return out, nil
}

type recordArgs struct {
	Run     string       `json:"run"`
	Finding vent.Finding `json:"finding"`
	Correct vent.ID      `json:"correct,omitzero"`
}

type recordAnswer struct {
	Where   string    `json:"where"`
	Finding vent.ID   `json:"finding"`
	Known   bool      `json:"known"` // it was recorded before: nothing changed
	Dues    []dueLine `json:"dues"`

	Faults   []faultLine `json:"faults,omitempty"`    // that it raised, changed or closed
	Parts    []string    `json:"parts,omitempty"`     // what the part checks say
	Next     []string    `json:"next,omitempty"`      // what to look at next, in order
	Cautions []string    `json:"cautions,omitempty"`  // that go with it
	Missing  []string    `json:"close_out,omitempty"` // still to be confirmed before the visit is done
}

func (h *house) askRecord(_ context.Context, r call.Request, a recordArgs) (out recordAnswer, err error) {
	if a.Finding.RunID, err = h.desk.FindRun(a.Run); err != nil {
		return out, err
	}
	var rec desk.Recorded
	if a.Correct.IsZero() {
		rec, err = h.desk.Record(by(r), a.Finding)
	} else {
		rec, err = h.desk.Correct(by(r), a.Correct, a.Finding)
	}
	if err != nil {
		return out, err
	}
	v, err := h.desk.Run(by(r), a.Finding.RunID)
	if err != nil {
		return out, err
	}
	w, err := h.words()
	out = recordAnswer{Where: v.Label(), Finding: rec.Finding.ID, Known: rec.Known}
	for _, d := range v.Dues {
		out.Dues = append(out.Dues, lineOf(w, desk.DueView{Due: d, Place: v.Place}, v.Today))
	}
	urgentFirst(out.Dues)
	if err == nil {
		err = h.follows(by(r), rec, &out)
	}
	return out, err
}

// follows says what follows from a recorded finding: faults, parts, what to look at next, what is not confirmed.
func (h *house) follows(by desk.By, rec desk.Recorded, out *recordAnswer) error {
	for _, f := range rec.Faults {
		v, err := h.desk.Fault(by, f.ID.String())
		if err != nil {
			return err
		}
		out.Faults = append(out.Faults, faultLineOf(v))
	}
	for _, l := range rec.Missing {
		out.Missing = append(out.Missing, l.ID+": "+l.Text)
	}
	d := rec.Diagnosis
	if d == nil {
		return nil
	}
	for _, v := range d.Verdicts {
		out.Parts = append(out.Parts, fmt.Sprintf("%s: %s. %s", v.Part, v.Standing, v.Why))
	}
	if len(d.Replace) > 0 {
		out.Parts = append(out.Parts, "to be replaced: "+strings.Join(d.Replace, ", "))
	}
	if d.Hunt != nil {
		for _, s := range d.Hunt.Missing() {
			out.Next = append(out.Next, s.Text)
		}
	}
	for _, s := range d.Next {
		out.Next = append(out.Next, s.Text)
	}
	for _, c := range d.Cautions {
		out.Cautions = append(out.Cautions, rules.CautionText(c))
	}
	return nil
}

type setupArgs struct {
	Operator vent.Operator `json:"operator"`
}

func (h *house) askSetup(_ context.Context, r call.Request, a setupArgs) (vent.Operator, error) {
	if err := h.desk.SetOperator(by(r), a.Operator); err != nil {
		return a.Operator, err
	}
	return a.Operator, h.desk.MoveHorizon(by(r))
}

type backupArgs struct {
	Name string `json:"name,omitempty"` // file name inside the backup folder; "" is made from the moment
}

type backupAnswer struct {
	File string `json:"file"`
}

func (h *house) askBackup(_ context.Context, r call.Request, a backupArgs) (backupAnswer, error) {
	name := a.Name
	if name == "" {
		name = backupName(r.Now)
	}
	if name != filepath.Base(name) {
		return backupAnswer{}, fmt.Errorf("backup name %q: give a plain file name, it lies in %s: %w", name, h.cfg.Load().Backup.Dir, vent.ErrInvalid)
	}
	dir := h.cfg.Load().Backup.Dir
	return backupAnswer{filepath.Join(dir, name)}, h.backup(dir, name)
}

type noArgs struct{}

type verifyAnswer struct {
	Records  map[vent.Kind]int `json:"records"`
	Problems []string          `json:"problems"` // of the data file
	More     int               `json:"more,omitempty"`
	// Photos counts the photos that findings name; PhotoProblems tells of those that are missing or damaged, Unnamed of files
	// that no finding names, which do no harm.
	Photos        int      `json:"photos"`
	PhotoProblems []string `json:"photo_problems"`
	Unnamed       []string `json:"photos_unnamed,omitempty"`
}

func (h *house) askVerify(context.Context, call.Request, noArgs) (verifyAnswer, error) {
	r := h.store.Verify()
	out := verifyAnswer{Records: r.Records, Problems: append([]string{}, r.Problems...), More: r.More, PhotoProblems: []string{}}
	if len(r.Problems) > 0 {
		return out, nil // what it says of photos is not to be trusted
	}
	photos, err := h.desk.VerifyPhotos()
	out.Photos, out.Unnamed = photos.Photos, photos.Unnamed
	out.PhotoProblems = append(out.PhotoProblems, photos.Problems...)
	return out, err
}

type photoArgs struct {
	Name string `json:"name"` // of the file, as its owner knows it
}

// askPhoto keeps a photo, whose bytes are handed over, and gives how a finding names it.
func (h *house) askPhoto(_ context.Context, r call.Request, a photoArgs) (vent.Photo, error) {
	return h.desk.PutPhoto(r.In, a.Name)
}

type eraseArgs struct {
	Person string `json:"person"` // e-mail address, key or id
}

func (h *house) askErase(_ context.Context, r call.Request, a eraseArgs) (desk.Erased, error) {
	return h.desk.Erase(by(r), a.Person)
}

func (h *house) askExport(_ context.Context, r call.Request, _ noArgs) error {
	return h.desk.Export(r.Out)
}
