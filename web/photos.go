package web

import (
	"errors"
	"fmt"
	"io"
	"mime"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"ventdue/desk"
	"ventdue/desk/wording"
	"ventdue/vent"
)

const (
	// maxVisit is the largest body of the form that records a visit: its photos and its texts, in bytes.
	maxVisit = desk.MaxPhotos*desk.MaxPhotoBytes + 2*maxBody
	// longestUpload is how long that body may take: photos from a basement come slowly.
	longestUpload = 10 * time.Minute
)

// photo is a photo as a page shows it.
type photo struct{ Link, Name string }

func pictures(photos []vent.Photo, root string) []photo {
	return each(photos, func(p vent.Photo) photo { return photo{root + "/photos/" + p.SHA256, p.Name} })
}

// showPhoto sends a photo. Its address names its content, so that a browser may keep it.
func (s *server) showPhoto(w http.ResponseWriter, r *http.Request, _ visitor) error {
	f, kind, err := s.desk.OpenPhoto(r.PathValue("sum"))
	if err != nil {
		return err
	}
	defer f.Close()
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Cache-Control", "private, max-age=31536000, immutable")
	http.ServeContent(w, r, "", time.Time{}, f)
	return nil
}

// sentVisit is what the form that records a visit brought: its fields, and the photos that were kept on the way.
type sentVisit struct {
	fields url.Values
	photos []vent.Photo
	wrong  string // what was wrong with a photo
}

// readVisit reads the form, with or without photos. A photo is kept as it comes: nothing waits in memory, and a form that
// has to be asked again needs no photo twice.
func (s *server) readVisit(w http.ResponseWriter, r *http.Request, words wording.Words) (v sentVisit, err error) {
	if kind, _, _ := mime.ParseMediaType(r.Header.Get("Content-Type")); kind != "multipart/form-data" {
		r.Body = http.MaxBytesReader(w, r.Body, maxBody)
		if err := r.ParseForm(); err != nil {
			return v, formError(err)
		}
		return sentVisit{fields: r.PostForm}, nil
	}
	c, late := http.NewResponseController(w), time.Now().Add(longestUpload) // not the pages' clock: the connection's
	_ = errors.Join(c.SetReadDeadline(late), c.SetWriteDeadline(late))      // where it cannot be set the server's own holds
	parts, err := r.MultipartReader()
	if err != nil {
		return v, formError(err)
	}
	v.fields = url.Values{}
	for left := int64(maxBody); ; {
		part, err := parts.NextPart()
		if errors.Is(err, io.EOF) {
			return v, nil
		}
		if err != nil {
			return v, formError(err)
		}
		if part.FormName() == "photos" {
			if err := s.takePhoto(&v, part, part.FileName(), words); err != nil {
				return v, err
			}
			continue
		}
		text, err := io.ReadAll(io.LimitReader(part, left+1))
		if err != nil {
			return v, formError(err)
		}
		if left -= int64(len(text)); left < 0 {
			return v, formError(&http.MaxBytesError{Limit: maxBody})
		}
		v.fields.Add(part.FormName(), string(text))
	}
}

// takePhoto keeps one photo of the form; a browser sends an empty one where none was chosen.
func (s *server) takePhoto(v *sentVisit, r io.Reader, name string, words wording.Words) error {
	if name == "" {
		return nil
	}
	if len(v.photos) == desk.MaxPhotos {
		v.wrong = words.Say("page.problem.photos", "n", fmt.Sprint(desk.MaxPhotos))
		return nil
	}
	p, err := s.desk.PutPhoto(r, name)
	var problems vent.Problems
	if errors.As(err, &problems) {
		v.wrong = strings.TrimSpace(v.wrong + " " + problems[0].Value + " " + problems[0].Text + ".")
		return nil
	}
	if err == nil {
		v.photos = append(v.photos, p)
		return nil
	}
	if a := answerTo(err); a.status == http.StatusRequestEntityTooLarge || errors.Is(err, io.ErrUnexpectedEOF) {
		return formError(err)
	}
	return err
}

// keptPhoto is a photo that is kept already and that the form may go on naming.
type keptPhoto struct {
	Value, Name, Link string
	Chosen            bool
}

// offer puts photos into the form, ticked; one is offered once.
func (f *recordForm) offer(photos []vent.Photo, chosen bool, root string) {
	for _, p := range photos {
		value := p.SHA256 + "/" + p.Name
		if !slices.ContainsFunc(f.Kept, func(k keptPhoto) bool { return k.Value == value }) {
			f.Kept = append(f.Kept, keptPhoto{value, p.Name, root + "/photos/" + p.SHA256, chosen})
		}
	}
}

// photosOf gives the photos that a form names: those it brought, and those among the kept ones that are ticked. What it
// names without there being such a photo is left out.
func (s *server) photosOf(v sentVisit) (photos []vent.Photo, err error) {
	for _, value := range v.fields["photo"] {
		sum, name, _ := strings.Cut(value, "/")
		p, err := s.desk.PhotoNamed(sum, name)
		if errors.Is(err, vent.ErrNotFound) {
			continue
		}
		if err != nil {
			return nil, err
		}
		photos = append(photos, p)
	}
	for _, p := range v.photos {
		if !slices.Contains(photos, p) {
			photos = append(photos, p)
		}
	}
	return photos, nil
}

// apiPhoto keeps one photo, the body itself, and answers how a finding names it. The address may say its name: ?name=.
func (s *server) apiPhoto(w http.ResponseWriter, r *http.Request, _ visitor) error {
	p, err := s.desk.PutPhoto(r.Body, r.URL.Query().Get("name"))
	if err != nil {
		return err
	}
	w.Header().Set("Location", s.root+"/photos/"+p.SHA256)
	return writeJSON(w, http.StatusCreated, p)
}

// namedPhotos gives the photos that a program names, refusing those that are not kept here.
func (s *server) namedPhotos(named []apiPhotoNamed) (photos []vent.Photo, err error) {
	var problems vent.Problems
	if len(named) > desk.MaxPhotos {
		problems.Add("photos", "", "are more than %d: give the others to another finding", desk.MaxPhotos)
	}
	for _, x := range named {
		p, err := s.desk.PhotoNamed(x.SHA256, x.Name)
		switch {
		case errors.Is(err, vent.ErrNotFound):
			problems.Add("photos", x.SHA256, "is not kept here: send the picture to /api/photos first")
		case err != nil:
			return nil, err
		default:
			photos = append(photos, p)
		}
	}
	return photos, problems.Err()
}
