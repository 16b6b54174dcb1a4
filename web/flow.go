package web

import (
	"html/template"
	"net/http"
	"strconv"

	"ventdue/desk"
	"ventdue/desk/picture"
	"ventdue/scheduler"
)

// flow is how a run's flow over time is shown.
type flow struct {
	Picture template.HTML // drawn by us, every text in it escaped
	File    string        // address of the picture alone
	Sharper string        // what would make the date surer; "" where nothing would
}

// flowOf draws a run's flow over time for its page.
func (s *server) flowOf(v visitor, view desk.RunView) (f flow, err error) {
	words := s.words(v)
	course, err := s.desk.Course(s.by(v), view.Run.ID)
	if err != nil {
		return f, err
	}
	sharper, err := s.desk.Sharpen(s.by(v), view.Run.ID)
	if err != nil {
		return f, err
	}
	drawn := flowPicture(view, course).SVG(words)
	return flow{Picture: template.HTML(drawn), File: s.root + flowAddress(view), Sharper: words.Sharper(sharper)}, nil
}

func flowPicture(view desk.RunView, course scheduler.Course) picture.Flow {
	return picture.Flow{Course: course, Where: view.Label(), Today: view.Today}
}

// flowAddress gives the address of the picture of a run's flow.
func flowAddress(view desk.RunView) string { return runAddress(view) + "/flow.svg" }

// showFlow gives the picture as a file of its own.
func (s *server) showFlow(w http.ResponseWriter, r *http.Request, v visitor) error {
	view, err := s.runOf(r, v)
	if err != nil {
		return err
	}
	course, err := s.desk.Course(s.by(v), view.Run.ID)
	if err != nil {
		return err
	}
	p := flowPicture(view, course)
	p.Alone = true
	drawn := p.SVG(s.words(v))
	w.Header().Set("Content-Type", "image/svg+xml")
	w.Header().Set("Content-Length", strconv.Itoa(len(drawn)))
	_, _ = w.Write(drawn) // whoever asked may have gone
	return nil
}
