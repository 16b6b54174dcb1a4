package web

import (
	"errors"
	"fmt"
	"mime"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"ventdue/desk"
	"ventdue/desk/wording"
	"ventdue/vent"
)

// choicesRoute takes the one-click POST of RFC 8058 as well as the page's own form.
const choicesRoute = "POST /m/{token}"

// choicesPage is where a person says what they want to be reminded of. The link in a mail leads there; opening it changes
// nothing.
type choicesPage struct {
	page
	Action          string
	Who, Address    string
	From, Stop      string // whose reminders they are; that a stop comes all the same
	Old             bool   // the link is too old to choose by
	Done, Problem   string
	Kinds           tickList
	First, Language field
	Pause           field
	Earliest, Last  string // days between which a pause may end
}

// showChoices shows the page. It changes nothing: programs follow links by themselves.
func (s *server) showChoices(w http.ResponseWriter, r *http.Request, v visitor) error {
	c, err := s.desk.Choices(s.by(v), s.choices, r.PathValue("token"))
	if err != nil {
		return err
	}
	return s.render(w, http.StatusOK, "choices", s.choicesPage(r, v, c))
}

func (s *server) choicesPage(r *http.Request, v visitor, c desk.Choices) choicesPage {
	p := choicesPage{page: s.newPage(v, ""), Action: s.root + "/m/" + url.PathEscape(r.PathValue("token")), Who: c.Person.Name,
		Address: masked(c.Person.Email), Old: c.Old, Earliest: c.Today.AddDays(1).String(), Last: c.Today.AddDays(365).String()}
	p.Words = wording.For(firstOf(c.Person.Language, c.Operator.Language), c.Operator.Units)
	f := figures{p.Words}
	p.Title = p.Say("page.choices.title")
	p.From, p.Stop = p.Say("page.choices.from", "operator", c.Operator.Name), p.Say("page.choices.stop")
	p.Kinds = tickList{Name: "wants", Label: p.Say("page.choices.kinds"), Choices: choices(f, "page.choices.kind.", vent.Purposes()...)}
	for i := range p.Kinds.Choices {
		p.Kinds.Choices[i].Chosen = c.Person.Wants(p.Kinds.Choices[i].Value)
	}
	p.First = field{Name: "first", Label: p.Say("page.choices.first"), Choices: []choice{{Value: "0", Label: p.Say("page.choices.first.usual"), Chosen: c.Person.FirstDays == 0}}}
	for _, n := range c.First {
		p.First.Choices = append(p.First.Choices, choice{Value: strconv.Itoa(n), Label: p.Say("page.choices.first.days", "n", strconv.Itoa(n)), Chosen: n == c.Person.FirstDays})
	}
	p.Language = field{Name: "language", Label: p.Say("page.choices.language")}
	for _, tag := range wording.Languages() {
		p.Language.Choices = append(p.Language.Choices, choice{Value: tag, Label: p.Say("page.choices.language." + tag), Chosen: tag == p.Lang})
	}
	p.Pause = field{Name: "pause", Label: p.Say("page.choices.pause"), Hint: p.Say("page.choices.pause.hint"), Value: c.Person.PausedUntil.String()}
	if c.Person.PausedUntil <= c.Today {
		p.Pause.Value = ""
	}
	return p
}

func firstOf(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

// masked shows enough of an address for its owner to know it, and nobody else.
func masked(address string) string {
	local, domain, _ := strings.Cut(address, "@")
	if r := []rune(local); len(r) > 0 {
		return string(r[0]) + "…@" + domain
	}
	return ""
}

// takeChoices takes what was posted: the one click of a mail program, which needs no page to be seen first and no further
// question (RFC 8058 section 3.2), or the page's own form.
func (s *server) takeChoices(w http.ResponseWriter, r *http.Request, v visitor) error {
	if err := parseEither(r); err != nil {
		return formError(err)
	}
	token := r.PathValue("token")
	oneClick := r.PostForm.Get("List-Unsubscribe") == "One-Click"
	by, done, problem := s.by(v), "", error(nil)
	switch {
	case oneClick:
		problem, done = s.desk.Unsubscribe(by, s.choices, token, desk.SaidOneClick), "page.choices.none"
	case r.PostForm.Has("none"):
		problem, done = s.desk.Unsubscribe(by, s.choices, token, desk.SaidOnPage), "page.choices.none"
	case r.PostForm.Has("save"):
		var c desk.Choice
		if c, problem = choiceIn(r.PostForm); problem == nil {
			problem, done = s.desk.Choose(by, s.choices, token, c), "page.choices.saved"
		}
	default:
		problem = fmt.Errorf("nothing was chosen: %w", vent.ErrInvalid)
	}
	var wrong vent.Problems
	if problem != nil && (oneClick || !errors.As(problem, &wrong) && !errors.Is(problem, vent.ErrInvalid)) {
		return problem
	}
	c, err := s.desk.Choices(by, s.choices, token)
	if err != nil {
		return err
	}
	p := s.choicesPage(r, v, c)
	if problem != nil {
		p.Problem = p.Say("page.choices.wrong")
		return s.render(w, http.StatusUnprocessableEntity, "choices", p)
	}
	p.Done = p.Say(done)
	return s.render(w, http.StatusOK, "choices", p)
}

// parseEither reads a form in either of the two encodings that a mail program may use.
func parseEither(r *http.Request) error {
	kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type"))
	if err == nil && kind == "multipart/form-data" {
		return r.ParseMultipartForm(maxBody)
	}
	return r.ParseForm()
}

func choiceIn(form url.Values) (c desk.Choice, err error) {
	c.Wants = form["wants"]
	var p vent.Problems
	if c.FirstDays, err = strconv.Atoi(form.Get("first")); err != nil {
		p.Add("first", form.Get("first"), "is no number of days")
	}
	if day := strings.TrimSpace(form.Get("pause")); day != "" {
		if c.PausedUntil, err = vent.ParseDate(day); err != nil {
			p.Add("pause", day, "is no day")
		}
	}
	if c.Language = form.Get("language"); !slices.Contains(wording.Languages(), c.Language) {
		p.Add("language", c.Language, "is not spoken here")
	}
	return c, p.Err()
}
