package web

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"io"
	"mime/multipart"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ventdue/desk"
	"ventdue/vent"
)

// snap is a small picture of one colour.
func snap(t *testing.T, shade uint8) []byte {
	t.Helper()
	m := image.NewGray(image.Rect(0, 0, 40, 30))
	for i := range m.Pix {
		m.Pix[i] = shade
	}
	m.Set(1, 1, color.White)
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

type upload struct {
	name string
	data []byte
}

// send posts a form with files as a browser does.
func (h *house) send(path string, form url.Values, files ...upload) reply {
	h.t.Helper()
	var b bytes.Buffer
	w := multipart.NewWriter(&b)
	for name, values := range form {
		for _, v := range values {
			if err := w.WriteField(name, v); err != nil {
				h.t.Fatal(err)
			}
		}
	}
	for _, f := range files {
		part, err := w.CreateFormFile("photos", f.name)
		if err == nil {
			_, err = part.Write(f.data)
		}
		if err != nil {
			h.t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		h.t.Fatal(err)
	}
	return h.do(h.request("POST", path, &b, "Content-Type", w.FormDataContentType(), "Origin", h.pages.URL, "Sec-Fetch-Site", "same-origin"))
}

func TestRecordWithPhotosAndTicks(t *testing.T) {
	h := newHouse(t, nil)
	h.setOperator(vent.US)
	id := h.add(maple())[0]
	form := visit()
	form["fault"], form["close_out"] = []string{"foil_transition", "scorch_marks"}, []string{"pushed_back", "test_run_with_heat"}
	page := h.page(runPath(id.run))
	checkPage(t, "form", page)
	for _, box := range append(form["fault"], form["close_out"]...) {
		if !strings.Contains(page, `value="`+box+`"`) {
			t.Fatalf("the form has no box %s", box)
		}
	}
	if strings.Contains(page, `value="clean_run_past_maker_limit"`) || strings.Contains(page, `value="follow_up_call"`) || strings.Contains(page, `value="gas_valve_open"`) {
		t.Error("the form asks a person for what only the tool can find, for a promise, or for gas at an electric dryer")
	}
	var files []upload
	for i := range 3 {
		files = append(files, upload{fmt.Sprintf("hood <%d>.jpg", i), snap(t, uint8(40*i))})
	}
	r := h.send(runPath(id.run)+"/findings", form, append(files, upload{"", nil})...)
	if r.status != http.StatusSeeOther {
		t.Fatalf("%d %s", r.status, text(r.body))
	}
	again := h.send(runPath(id.run)+"/findings", form, files...)
	if again.header.Get("Location") != r.header.Get("Location") {
		t.Errorf("the same form again: %d to %s", again.status, again.header.Get("Location"))
	}
	view, err := h.desk.Run(h.by(), id.run)
	if err != nil || len(view.Findings) != 1 {
		t.Fatalf("%d findings, %v", len(view.Findings), err)
	}
	f := view.Findings[0]
	if len(f.Photos) != 3 || f.Photos[0].Name != "hood <0>.jpg" || len(f.Faults) != 2 || len(f.CloseOut) != 2 {
		t.Fatalf("recorded %+v", f)
	}
	page = h.page(r.header.Get("Location"))
	checkPage(t, "with photos", page)
	wantText(t, page, "Not confirmed yet: transition not crushed")
	if n := strings.Count(page, `<img src="/photos/`); n != 3 {
		t.Errorf("%d photos are shown", n)
	}
	checkPage(t, "paper with photos", h.page("/findings/"+f.ID.String()+"/record"))
	shown := h.get("/photos/" + f.Photos[0].SHA256)
	if _, err := jpeg.Decode(strings.NewReader(shown.body)); err != nil || shown.header.Get("Content-Type") != "image/jpeg" || shown.header.Get("X-Content-Type-Options") != "nosniff" {
		t.Errorf("photo: %d %v %v", shown.status, shown.header, err)
	}

	// A correction keeps the photos that stay ticked.
	page = h.page(runPath(id.run) + "?correct=" + f.ID.String())
	checkPage(t, "correcting", page)
	if n := strings.Count(page, `name="photo"`); n != 3 || !strings.Contains(page, `value="foil_transition" checked`) || !strings.Contains(page, `value="pushed_back" checked`) {
		t.Errorf("the form of the correction has %d photos, or lost a tick", n)
	}
	form.Set("corrects", f.ID.String())
	form["photo"] = []string{f.Photos[1].SHA256 + "/" + f.Photos[1].Name, strings.Repeat("0", 64) + "/gone.jpg", "../../x"}
	if r := h.send(runPath(id.run)+"/findings", form, upload{"new.jpg", snap(t, 250)}); r.status != http.StatusSeeOther {
		t.Fatalf("%d %s", r.status, text(r.body))
	}
	view, _ = h.desk.Run(h.by(), id.run)
	f = view.Findings[0]
	if !f.Counts() {
		f = view.Findings[1]
	}
	if len(f.Photos) != 2 || f.Photos[0].Name != "hood <1>.jpg" || f.Photos[1].Name != "new.jpg" {
		t.Errorf("the correction has %+v", f.Photos)
	}
}

// What is wrong with a photo is said at its field; the good ones need not be chosen again.
func TestBadPhotosAreRefusedAtTheField(t *testing.T) {
	h := newHouse(t, nil)
	id := h.add(maple())[0]
	huge := append(snap(t, 1), make([]byte, 40<<20)...)
	var wide bytes.Buffer
	if err := png.Encode(&wide, image.NewGray(image.Rect(0, 0, 1, 1))); err != nil {
		t.Fatal(err)
	}
	ihdr := wide.Bytes()[12:33] // claims 8000 × 6300, 50.4 million pixels (PNG specification, section 11.2.2)
	binary.BigEndian.PutUint32(ihdr[4:], 8000)
	binary.BigEndian.PutUint32(ihdr[8:], 6300)
	binary.BigEndian.PutUint32(ihdr[17:], crc32.ChecksumIEEE(ihdr[:17]))
	for name, c := range map[string]struct {
		file upload
		says string
	}{
		"40 MB":  {upload{"big.jpg", huge}, "larger than 12 MB"},
		"script": {upload{"nice.jpg", []byte("#!/bin/sh\nrm -rf /\n")}, "no jpeg or png"},
		"half":   {upload{"half.jpg", snap(t, 9)[:200]}, "cannot be read"},
		"pixels": {upload{"wide.png", wide.Bytes()}, "more than 50 million"},
	} {
		r := h.send(runPath(id.run)+"/findings", visit(), upload{"good.jpg", snap(t, 7)}, c.file)
		if at := between(r.body, `id="photos-problem"`, "</p>"); r.status != http.StatusUnprocessableEntity || !strings.Contains(at, c.says) || !strings.Contains(at, c.file.name) {
			t.Errorf("%s: %d, at the field it says %q", name, r.status, at)
		}
		checkPage(t, name, r.body)
		if !strings.Contains(r.body, "/good.jpg\" checked") {
			t.Errorf("%s: the good photo has to be chosen again", name)
		}
	}
	var many []upload
	for i := range desk.MaxPhotos + 1 {
		many = append(many, upload{fmt.Sprintf("%d.jpg", i), snap(t, uint8(20*i))})
	}
	if r := h.send(runPath(id.run)+"/findings", visit(), many...); r.status != http.StatusUnprocessableEntity || !strings.Contains(between(r.body, `id="photos-problem"`, "</p>"), "At most 8") {
		t.Errorf("nine photos: %d", r.status)
	}
	if view, _ := h.desk.Run(h.by(), id.run); len(view.Findings) != 0 {
		t.Errorf("%d findings were stored", len(view.Findings))
	}
}

func TestVisitBodiesAreBounded(t *testing.T) {
	h := newHouse(t, nil)
	id := h.add(maple())[0]
	path := runPath(id.run) + "/findings"
	if r := h.send(path, visit("note", strings.Repeat("n", maxBody+1))); r.status != http.StatusRequestEntityTooLarge {
		t.Errorf("texts beyond all bounds: %d", r.status)
	}
	if r := h.post("/feeds", url.Values{"name": {strings.Repeat("n", maxBody+1)}}); r.status != http.StatusRequestEntityTooLarge {
		t.Errorf("another form beyond all bounds: %d", r.status)
	}
	req := h.request("POST", path, strings.NewReader("--x\r\nContent-Disposition: form-data; name=\"photos\"; filename=\"a.jpg\"\r\n\r\n\xff\xd8\xff"),
		"Content-Type", "multipart/form-data; boundary=x", "Origin", h.pages.URL, "Sec-Fetch-Site", "same-origin")
	if r := h.do(req); r.status != http.StatusBadRequest {
		t.Errorf("a form that breaks off: %d", r.status)
	}
	req = h.request("POST", path, strings.NewReader("x"), "Content-Type", "multipart/form-data", "Origin", h.pages.URL, "Sec-Fetch-Site", "same-origin")
	if r := h.do(req); r.status != http.StatusBadRequest {
		t.Errorf("a form without a boundary: %d", r.status)
	}
}

// A program gives a whole finding: photos first, then what names them.
func TestAPITakesAWholeFinding(t *testing.T) {
	h := newHouse(t, func(o *Options) { o.Open, o.Token = false, "t0ken" })
	id := h.add(maple())[0]
	token := []string{"Authorization", "Bearer t0ken"}
	put := func(body []byte) reply {
		return h.do(h.request("POST", "/api/photos?name=hood.jpg", bytes.NewReader(body), append(token, "Content-Type", "image/jpeg")...))
	}
	r := put(snap(t, 5))
	var p vent.Photo
	if err := json.Unmarshal([]byte(r.body), &p); err != nil || r.status != http.StatusCreated || p.Name != "hood.jpg" {
		t.Fatalf("%d %s %v", r.status, r.body, err)
	}
	for name, bad := range map[string][]byte{"script": []byte("#!/bin/sh"), "40 MB": append(snap(t, 5), make([]byte, 40<<20)...)} {
		if r := put(bad); r.status != http.StatusUnprocessableEntity || !strings.Contains(r.body, `"field":"photos"`) {
			t.Errorf("%s: %d %s", name, r.status, r.body)
		}
	}
	if r := h.do(h.request("POST", "/api/photos", bytes.NewReader(snap(t, 5)))); r.status != http.StatusUnauthorized {
		t.Errorf("a stranger's photo: %d", r.status)
	}
	record := func(photo string) reply {
		body := `{"date":"2026-11-25","by":{"kind":"us"},"outcome":"full","symptom":"no_heat","faults":["outlet_screen"],"close_out":["pushed_back"],
			"parts":[{"part":"heater","result":"open","replaced":true}],"photos":[{"sha256":"` + photo + `","name":"hood.jpg"}]}`
		return h.do(h.request("POST", "/api/runs/"+id.run.String()+"/findings", strings.NewReader(body), append(token, "Content-Type", "application/json")...))
	}
	if r := record(strings.Repeat("0", 64)); r.status != http.StatusUnprocessableEntity || !strings.Contains(r.body, `"field":"photos"`) {
		t.Errorf("a photo that is not kept: %d %s", r.status, r.body)
	}
	if r := record(p.SHA256); r.status != http.StatusCreated {
		t.Fatalf("%d %s", r.status, r.body)
	}
	view, _ := h.desk.Run(h.by(), id.run)
	if f := view.Findings[0]; len(f.Photos) != 1 || f.Photos[0] != p || f.Symptom != vent.NoHeat || len(f.Faults) != 1 || len(f.CloseOut) != 1 || len(f.Parts) != 1 || !f.Parts[0].Replaced {
		t.Errorf("recorded %+v", f)
	}
}

func TestPhotosAreForThoseInside(t *testing.T) {
	h := newHouse(t, locked)
	p, err := h.desk.PutPhoto(bytes.NewReader(snap(t, 3)), "x.jpg")
	if err != nil {
		t.Fatal(err)
	}
	if r := h.get("/photos/" + p.SHA256); r.status != http.StatusSeeOther {
		t.Errorf("a photo for everybody: %d", r.status)
	}
	open := newHouse(t, nil)
	for _, sum := range []string{"x", strings.Repeat("0", 64), "..%2f..%2fventdue.db"} {
		if r := open.get("/photos/" + sum); r.status != http.StatusNotFound {
			t.Errorf("GET /photos/%s: %d", sum, r.status)
		}
	}
	r := h.do(h.request("POST", "/runs/0197f000-0000-7000-8000-000000000000/findings", io.LimitReader(zeros{}, 1<<20), "Content-Type", "multipart/form-data; boundary=x", "Sec-Fetch-Site", "same-origin"))
	if r.status != http.StatusSeeOther {
		t.Errorf("a stranger's upload: %d", r.status)
	}
}

type zeros struct{}

func (zeros) Read(b []byte) (int, error) { clear(b); return len(b), nil }
