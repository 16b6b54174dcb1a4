package web

import (
	"errors"
	"math"
	"net/http"
	"strconv"
	"strings"

	"ventdue/vent"
	"ventdue/vent/rules"
)

// signPage is the form by which whoever stands at the dryer tells what they noticed, without an account.
type signPage struct {
	page
	Action         string
	Place, Call    string
	RunLink        string      // for whoever works here and may sign in
	Told           *signChoice // what was just told
	Wait           string      // why it was not taken yet
	Urgent, Others []signChoice
	Name, Note     string
	Run            string // address of the run's page, for whoever works here; "" for others
}

// signChoice is one sign with what whoever noticed it does at once.
type signChoice struct {
	Kind, Looks, Say string
	Emergency        bool
	Cautions         []string
}

// showSign shows the form. It changes nothing: programs follow links by themselves.
func (s *server) showSign(w http.ResponseWriter, r *http.Request, v visitor) error {
	p, _, err := s.signPage(r, v)
	if err != nil {
		return err
	}
	return s.render(w, http.StatusOK, "sign", p)
}

func (s *server) signPage(r *http.Request, v visitor) (p signPage, run vent.ID, err error) {
	if run, err = s.signs.Run(r.PathValue("token")); err != nil {
		return p, run, err
	}
	view, err := s.desk.Run(s.by(v), run)
	if err != nil {
		return p, run, err
	}
	o := s.operator()
	p = signPage{page: s.newPage(v, ""), Action: s.root + s.signs.Path(run), Place: view.Label(), RunLink: s.root + visitAddress(view)}
	p.Title = p.Say("page.tell.title")
	if v.inside {
		p.Run = s.root + runAddress(view)
	}
	if o.Phone != "" {
		p.Call = p.Say("page.tell.call", "operator", o.Name, "phone", o.Phone)
	}
	for _, rule := range rules.Signs() {
		if c := p.choiceOf(rule); c.Emergency {
			p.Urgent = append(p.Urgent, c)
		} else {
			p.Others = append(p.Others, c)
		}
	}
	return p, run, nil
}

func (p *page) choiceOf(r rules.Sign) signChoice {
	return signChoice{Kind: string(r.Kind), Looks: p.SignNoticed(r.Kind), Say: p.SignAdvice(r.Kind), Emergency: r.Emergency, Cautions: each(r.Cautions, p.Warning)}
}

// tellSign takes down what somebody noticed. The same form sent again tells the same thing once, so the answer needs no
// address of its own, at which it would say so to people who told nothing.
func (s *server) tellSign(w http.ResponseWriter, r *http.Request, v visitor) error {
	p, run, err := s.signPage(r, v)
	if err != nil {
		return err
	}
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	p.Name, p.Note = cleanName(r.PostForm.Get("name")), strings.TrimSpace(r.PostForm.Get("note"))
	rule, ok := rules.SignByKind(vent.SignKind(r.PostForm.Get("kind")))
	if !ok {
		p.Wait = p.Say("page.tell.which")
		return s.render(w, http.StatusUnprocessableEntity, "sign", p)
	}
	told := p.choiceOf(rule)
	p.Told = &told // whatever comes of it, they read what to do at once
	// What was told of one thing never keeps back another.
	if wait := s.signGate.try(run.String()+" "+told.Kind, s.now()); wait > 0 {
		seconds := strconv.Itoa(int(math.Ceil(wait.Seconds())))
		w.Header().Set("Retry-After", seconds)
		p.Wait = p.Say("page.tell.wait", "n", seconds)
		return s.render(w, http.StatusTooManyRequests, "sign", p)
	}
	_, err = s.desk.ReportSign(s.by(v), vent.Sign{RunID: run, Kind: rule.Kind, By: p.Name, Note: p.Note})
	var problems vent.Problems
	if errors.As(err, &problems) {
		p.Wait = problems.Error()
		return s.render(w, http.StatusUnprocessableEntity, "sign", p)
	}
	if err != nil {
		return err
	}
	p.Name, p.Note = "", ""
	return s.render(w, http.StatusOK, "sign", p)
}
