package web

import (
	"net/http"
)

// showRecordByLink shows a visit's service record to whom it was mailed, without an account: the paper that the office prints, but
// without ways to elsewhere and without photos, which are for those who sign in.
func (s *server) showRecordByLink(w http.ResponseWriter, r *http.Request, v visitor) error {
	record, holder, err := s.desk.RecordByLink(s.by(v), s.records, r.PathValue("token"))
	if err != nil {
		return err
	}
	v.lang = firstOf(holder.Language, v.lang)
	p := s.runPaper(v, record, true)
	p.Back, p.CSV = "", ""
	for i := range p.Looks {
		p.Looks[i].Photos = nil
	}
	return s.render(w, http.StatusOK, "paper-run", p)
}
