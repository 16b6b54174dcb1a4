package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"go/ast"
	"go/parser"
	gotoken "go/token"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"ventdue/internal/outside"
)

// apiReader holds exchanges against the document, as a program would that was written from the document alone.
type apiReader struct {
	doc      map[string]any
	compiler *jsonschema.Compiler
}

const docURL = "https://vents.example/api/openapi.json"

func readAPIDocument(t testing.TB, text []byte) *apiReader {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	r := &apiReader{doc: doc.(map[string]any), compiler: jsonschema.NewCompiler()}
	// What a program may rely on is only what is listed; fields that are not would go unnoticed.
	closeAll(r.doc)
	if err := r.compiler.AddResource(docURL, doc); err != nil {
		t.Fatal(err)
	}
	return r
}

func closeAll(x any) {
	switch x := x.(type) {
	case []any:
		for _, v := range x {
			closeAll(v)
		}
	case map[string]any:
		if _, ok := x["properties"].(map[string]any); ok && x["additionalProperties"] == nil {
			x["additionalProperties"] = false
		}
		for _, v := range x {
			closeAll(v)
		}
	}
}

// check holds a value against the schema that lies under the names.
func (r *apiReader) check(data []byte, names ...string) error {
	at := docURL + "#"
	for _, n := range names {
		at += "/" + strings.NewReplacer("~", "~0", "/", "~1").Replace(n)
	}
	s, err := r.compiler.Compile(at)
	if err != nil {
		return err
	}
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
	if err != nil {
		return err
	}
	return s.Validate(v)
}

// exchange holds one question and its answer against the document. Addresses that are not there may answer as they like.
func (r *apiReader) exchange(method, path string, sent []byte, sentKind string, got reply) error {
	op, _ := dig(r.doc, "paths", path, strings.ToLower(method)).(map[string]any)
	if op == nil {
		return fmt.Errorf("the document has no %s %s", method, path)
	}
	names := []string{"paths", path, strings.ToLower(method)}
	if got.status < 300 && dig(op, "requestBody", "content", "application/json") != nil && sentKind == "application/json" {
		if err := r.check(sent, append(names, "requestBody", "content", "application/json", "schema")...); err != nil {
			return fmt.Errorf("it was taken, though by the document it cannot be sent: %w", err)
		}
	}
	kind, _, _ := strings.Cut(got.header.Get("Content-Type"), ";")
	code := strconv.Itoa(got.status)
	if dig(op, "responses", code, "content", kind) == nil && got.status >= 400 {
		code = "default"
	}
	if dig(op, "responses", code, "content", kind) == nil {
		return fmt.Errorf("the document has no answer %s of kind %s", code, kind)
	}
	if !strings.HasSuffix(kind, "json") {
		return nil
	}
	return r.check([]byte(got.body), append(names, "responses", code, "content", kind, "schema")...)
}

// held is called for every exchange of the tests: one under /api/ must be as the document says.
func (h *house) held(req *http.Request, sent []byte, got reply) {
	h.t.Helper()
	if !strings.HasPrefix(req.URL.Path, "/api/") || req.Method == http.MethodHead || h.server == nil {
		return
	}
	_, pattern := h.server.mux.Handler(req)
	method, path, ok := strings.Cut(pattern, " ")
	if !ok || path == "/api/openapi.json" {
		return
	}
	h.reading.Do(func() { h.reader = readAPIDocument(h.t, h.server.apiText) })
	h.readerTurn.Lock()
	defer h.readerTurn.Unlock()
	if err := h.reader.exchange(method, path, sent, req.Header.Get("Content-Type"), got); err != nil {
		h.t.Errorf("%s %s: %d is not as the document of the API says: %v\nsent: %.300s\ngot: %.600s", req.Method, req.URL.Path, got.status, err, sent, got.body)
	}
}

// Every address of the API is documented.
func TestAPIDocumentIsWhole(t *testing.T) {
	h := newHouse(t, nil)
	ids := map[string]bool{}
	for _, rt := range h.server.routes() {
		method, path := rt.methodAndPath()
		if !rt.api || path == "/api/openapi.json" {
			continue
		}
		if rt.doc == nil || rt.doc.ID == "" || rt.doc.Summary == "" || rt.doc.Out == nil && rt.doc.OutKind == "" {
			t.Errorf("%s: says nothing of itself in the document", rt.pattern)
			continue
		}
		if ids[rt.doc.ID] {
			t.Errorf("%s: the id %s is another's", rt.pattern, rt.doc.ID)
		}
		ids[rt.doc.ID] = true
		if writes := method != http.MethodGet; rt.doc.Once && !writes {
			t.Errorf("%s: only reads, and takes a key", rt.pattern)
		}
	}
	if r := h.get("/api/openapi.json"); r.status != 200 || len(ids) == 0 || r.header.Get("Content-Type") != "application/json" {
		t.Errorf("%d, %d addresses", r.status, len(ids))
	}
}

// A program that is not ours takes the document for valid OpenAPI 3.1.
// Whoever has the document alone must learn in which unit a reading is given; the units are those that the names of vent.Quantity are documented with.
func TestAPIDocumentNamesTheUnits(t *testing.T) {
	h := newHouse(t, nil)
	document := h.get("/api/openapi.json").body
	for _, want := range []string{"air_speed in m/s", "static_pressure in Pa", "lint_mass in kg", "1480 fpm"} {
		if !strings.Contains(document, want) {
			t.Errorf("the document does not say %q", want)
		}
	}
}

func TestAPIDocumentOutside(t *testing.T) {
	node, module := outside.Need(t, "node"), outside.Module(t, "@seriousme/openapi-schema-validator")
	h := newHouse(t, nil)
	script := fmt.Sprintf(`import {Validator} from %q;
let text=""; for await (const part of process.stdin) text += part;
const v = new Validator(); const res = await v.validate(JSON.parse(text));
console.log(JSON.stringify({valid: res.valid, errors: res.errors, version: v.version}))`, module+"/index.js")
	cmd := exec.Command(node, "--input-type=module", "-e", script)
	cmd.Stdin = bytes.NewReader(h.server.apiText)
	out, err := cmd.CombinedOutput()
	var says struct {
		Valid   bool
		Errors  any
		Version string
	}
	if err != nil || json.Unmarshal(out, &says) != nil {
		t.Fatalf("%v: %s", err, out)
	}
	if !says.Valid || says.Version != "3.1" {
		t.Errorf("OpenAPI %s: %v", says.Version, says.Errors)
	}
}

// The words that the document lists are those that the nouns declare.
func TestAPIWords(t *testing.T) {
	declared := map[string][]string{}
	sources, err := filepath.Glob("../vent/*.go")
	if err != nil || len(sources) == 0 {
		t.Fatal(err)
	}
	for _, path := range sources {
		src, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		file, err := parser.ParseFile(gotoken.NewFileSet(), path, src, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(file, func(n ast.Node) bool {
			spec, ok := n.(*ast.ValueSpec)
			if !ok || spec.Type == nil || len(spec.Values) != 1 {
				return true
			}
			name, isName := spec.Type.(*ast.Ident)
			text, isText := spec.Values[0].(*ast.BasicLit)
			if isName && isText && text.Kind == gotoken.STRING {
				word, _ := strconv.Unquote(text.Value)
				declared[name.Name] = append(declared[name.Name], word)
			}
			return true
		})
	}
	for typ, words := range apiWords {
		var listed []string
		for _, w := range words {
			listed = append(listed, w.(string))
		}
		want := declared[typ.Name()]
		slices.Sort(listed)
		slices.Sort(want)
		if !slices.Equal(listed, want) {
			t.Errorf("%s: the document lists %q, declared are %q", typ.Name(), listed, want)
		}
	}
}
