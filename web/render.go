package web

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"html/template"
	"io/fs"
	"net/http"
	"path"
	"strconv"
	"strings"

	"ventdue/desk/wording"
	"ventdue/vent"
)

//go:embed templates/*.html static/*
var files embed.FS

// parsePages reads each page's template together with the frame around it: pages that are made to be printed, whose names
// begin with "paper-", have one without ways to elsewhere.
func parsePages() (map[string]*template.Template, error) {
	pages := map[string]*template.Template{}
	names, err := fs.Glob(files, "templates/*.html")
	if err != nil {
		return nil, err
	}
	for _, file := range names {
		name := strings.TrimSuffix(path.Base(file), ".html")
		if name == "frame" || name == "paper" || name == "parts" || name == "record" {
			continue
		}
		frame := "frame.html"
		if strings.HasPrefix(name, "paper-") {
			frame = "paper.html"
		}
		t, err := template.New(frame).Option("missingkey=error").ParseFS(files, "templates/"+frame, "templates/parts.html", "templates/record.html", file)
		if err != nil {
			return nil, fmt.Errorf("template %s: %w", name, err)
		}
		pages[name] = t
	}
	return pages, nil
}

// asset is a file that never changes under its address.
type asset struct {
	kind string
	data []byte
}

// The files beside the pages, by the name under which templates ask for them.
var assetKinds = map[string]string{".css": "text/css; charset=utf-8", ".svg": "image/svg+xml", ".js": "text/javascript; charset=utf-8"}

// loadAssets reads the stylesheet, the icon and the script. Their addresses carry a hash of what is in them, so that a browser may
// keep them for ever.
func loadAssets() (map[string]asset, error) {
	entries, err := fs.ReadDir(files, "static")
	if err != nil {
		return nil, err
	}
	assets := map[string]asset{}
	for _, e := range entries {
		data, err := files.ReadFile("static/" + e.Name())
		if err != nil {
			return nil, err
		}
		sum := sha256.Sum256(data)
		ext := path.Ext(e.Name())
		name := strings.TrimSuffix(e.Name(), ext) + "." + hex.EncodeToString(sum[:6]) + ext
		assets[name] = asset{kind: assetKinds[ext], data: data}
	}
	return assets, nil
}

func (s *server) static(w http.ResponseWriter, r *http.Request, _ visitor) error {
	a, ok := s.assets[r.PathValue("file")]
	if !ok {
		return vent.ErrNotFound
	}
	w.Header().Set("Content-Type", a.kind)
	w.Header().Set("Content-Length", strconv.Itoa(len(a.data)))
	w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
	if r.Method != http.MethodHead {
		_, _ = w.Write(a.data) // whoever asked may have gone
	}
	return nil
}

// assetPath gives the address of a file by its plain name.
func (s *server) assetPath(plain string) string {
	ext := path.Ext(plain)
	for name := range s.assets {
		if strings.HasPrefix(name, strings.TrimSuffix(plain, ext)+".") && path.Ext(name) == ext {
			return s.root + "/static/" + name
		}
	}
	return ""
}

// page is what every page's frame needs.
type page struct {
	wording.Words
	Root        string // before every link
	Style, Icon string
	Script      string
	Mark        string // whose page it is, see visitor.mark
	Title       string
	Operator    string
	SignedIn    bool   // by a session: there is something to sign out of
	Inside      bool   // may see the other pages
	Who         string // signed in; "" where nobody has to
	Ways        []way
	Drawer      []way // not asked for daily
	Version     string
}

// operator gives the operator's record; the pages can do with a plain one.
func (s *server) operator() vent.Operator {
	o, err := s.desk.Operator()
	if err != nil {
		s.log.Error("the operator's record could not be read", "err", err)
	}
	return o
}

// words gives a visitor's language and the operator's units.
func (s *server) words(v visitor) wording.Words {
	o := s.operator()
	return wording.For(cmp.Or(v.lang, o.Language), o.Units).By(o.Clock)
}

func (s *server) newPage(v visitor, here string) page {
	o := s.operator()
	p := page{Words: wording.For(cmp.Or(v.lang, o.Language), o.Units).By(o.Clock), Root: s.root, Style: s.assetPath("style.css"), Icon: s.assetPath("icon.svg"), Script: s.assetPath("onsite.js"), Mark: v.mark(),
		SignedIn: v.session != nil, Inside: v.inside, Version: s.version}
	if v.inside {
		p.Operator, p.Who = o.Name, v.name()
		p.Ways, p.Drawer = s.ways(v, here)
	}
	return p
}

// render writes a page, whole or not at all.
func (s *server) render(w http.ResponseWriter, status int, name string, data any) error {
	var b bytes.Buffer
	if err := s.pages[name].Execute(&b, data); err != nil {
		return fmt.Errorf("render %s: %w", name, err)
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Content-Length", strconv.Itoa(b.Len()))
	w.WriteHeader(status)
	_, _ = w.Write(b.Bytes()) // whoever asked may have gone
	return nil
}

// seeOther sends the browser to another page of ours after a change.
func (s *server) seeOther(w http.ResponseWriter, r *http.Request, to string) {
	http.Redirect(w, r, s.root+to, http.StatusSeeOther)
}
