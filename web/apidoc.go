package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"reflect"
	"strings"

	jsonschema "github.com/swaggest/jsonschema-go"
	openapi "github.com/swaggest/openapi-go"
	"github.com/swaggest/openapi-go/openapi31"

	"ventdue/vent"
)

// apiDoc is what the API's document says of one address. Its types are those that the handler reads and writes, so that the
// document cannot promise anything else; a test holds every answer of the tests against it.
type apiDoc struct {
	ID      string // of the operation: "listDues"
	Summary string
	Query   any // a struct whose fields' `query` tags name what may be asked
	In      any // the body as JSON; nil for none
	File    []string
	Out     any // the answer as JSON; nil: OutKind tells what it is
	OutKind string
	Status  []int // of success; none: 200
	Once    bool  // takes an Idempotency-Key
}

// says documents an address of the API.
func (rt route) says(d apiDoc) route { rt.doc = &d; return rt }

// apiText is what the document says before all else.
const apiText = `What the pages do, for programs; accounts, tokens, labels, erasing and exporting are for people. Figures are SI, days are YYYY-MM-DD, moments are UTC in the form of RFC 3339;
sentences are in the operator's language and units. A token is made on the page "Programs" or by "ventdue token make". Errors are
problem details (RFC 9457) and name the fields. A write may carry an Idempotency-Key: sent again within a day with the same key, it gets
the first one's answer and does nothing. Unknown fields are refused. Fields may be added to answers: ignore those you do not know.`

// docPathPattern gives an address' method and path: "GET /api/dues".
func (rt route) methodAndPath() (method, path string) {
	method, path, _ = strings.Cut(rt.pattern, " ")
	return method, path
}

// apiDocument writes the document of all addresses of the API, as OpenAPI 3.1 in JSON.
func (s *server) apiDocument() ([]byte, error) {
	r := openapi31.NewReflector()
	r.Spec.WithInfo(*(&openapi31.Info{}).WithTitle("Ventdue").WithVersion(apiVersion).WithDescription(apiText))
	r.Spec.WithServers(openapi31.Server{URL: s.baseURL + "/"})
	r.Spec.SetHTTPBearerTokenSecurity("token", "", "a program's token")
	describeTypes(r.JSONSchemaReflector())
	for _, rt := range s.routes() {
		if !rt.api || rt.doc == nil {
			continue
		}
		if err := rt.describe(r); err != nil {
			return nil, fmt.Errorf("describe %s: %w", rt.pattern, err)
		}
	}
	return closeBodies(r.Spec)
}

// closeBodies writes the document with what the generator cannot say: that a write needs its body, and that a program sends no
// field that is not named, since the handlers refuse it.
func closeBodies(spec *openapi31.Spec) ([]byte, error) {
	raw, err := json.Marshal(spec)
	if err != nil {
		return nil, err
	}
	var doc map[string]any
	if err := json.Unmarshal(raw, &doc); err != nil {
		return nil, err
	}
	schemas, _ := dig(doc, "components", "schemas").(map[string]any)
	paths, _ := doc["paths"].(map[string]any)
	for _, path := range paths {
		for _, op := range path.(map[string]any) {
			if body, ok := dig(op, "requestBody").(map[string]any); ok {
				body["required"] = true
				closeObjects(body, schemas)
			}
		}
	}
	return json.MarshalIndent(doc, "", " ")
}

// closeObjects lets no object below x, or below what it refers to, have names that are not listed.
func closeObjects(x any, schemas map[string]any) {
	switch x := x.(type) {
	case []any:
		for _, v := range x {
			closeObjects(v, schemas)
		}
	case map[string]any:
		if _, ok := x["properties"]; ok && x["additionalProperties"] == nil {
			x["additionalProperties"] = false
		}
		if to, ok := x["$ref"].(string); ok {
			name := to[strings.LastIndexByte(to, '/')+1:]
			if s, ok := schemas[name].(map[string]any); ok && s["additionalProperties"] == nil {
				closeObjects(s, schemas)
			}
		}
		for _, v := range x {
			closeObjects(v, schemas)
		}
	}
}

// dig gives what lies under names in nested objects; nil where there is nothing.
func dig(x any, names ...string) any {
	for _, name := range names {
		m, ok := x.(map[string]any)
		if !ok {
			return nil
		}
		x = m[name]
	}
	return x
}

// apiVersion is the API's own: it rises when an answer loses a field or a field changes its meaning.
const apiVersion = "1"

func (rt route) describe(r *openapi31.Reflector) error {
	method, path := rt.methodAndPath()
	op, err := r.NewOperationContext(method, path)
	if err != nil {
		return err
	}
	op.SetID(rt.doc.ID)
	op.SetSummary(rt.doc.Summary)
	op.SetDescription(fmt.Sprintf("Needs a token that may %s.", rt.scope))
	op.AddSecurity("token")
	if p := pathStruct(path, rt.doc.Once); p != nil {
		op.AddReqStructure(p)
	}
	if rt.doc.Query != nil {
		op.AddReqStructure(rt.doc.Query)
	}
	if rt.doc.In != nil {
		op.AddReqStructure(rt.doc.In, openapi.WithContentType("application/json"))
	}
	for _, kind := range rt.doc.File {
		op.AddReqStructure(nil, openapi.WithContentType(kind), func(cu *openapi.ContentUnit) { cu.Format = "binary" })
	}
	status := rt.doc.Status
	if len(status) == 0 {
		status = []int{http.StatusOK}
	}
	for _, code := range status {
		if rt.doc.OutKind != "" {
			op.AddRespStructure(nil, openapi.WithHTTPStatus(code), openapi.WithContentType(rt.doc.OutKind))
			continue
		}
		op.AddRespStructure(rt.doc.Out, openapi.WithHTTPStatus(code))
	}
	op.AddRespStructure(problemDetails{}, openapi.WithContentType("application/problem+json"), func(cu *openapi.ContentUnit) { cu.IsDefault = true })
	return r.AddOperation(op)
}

// pathStruct makes a struct that names the parts of a path which vary, and the key of a write that happens once.
func pathStruct(path string, once bool) any {
	var fields []reflect.StructField
	for part := range strings.SplitSeq(path, "/") {
		if name, ok := strings.CutPrefix(part, "{"); ok {
			name = strings.TrimSuffix(name, "}")
			fields = append(fields, reflect.StructField{Name: strings.ToUpper(name), Type: reflect.TypeFor[string](),
				Tag: reflect.StructTag(fmt.Sprintf(`path:%q`, name))})
		}
	}
	if once {
		fields = append(fields, reflect.StructField{Name: "Once", Type: reflect.TypeFor[string](),
			Tag: reflect.StructTag(fmt.Sprintf(`header:"Idempotency-Key" maxLength:"%d" description:"sent again within a day, the write does nothing and gets the first answer"`, maxOnceKey))})
	}
	if fields == nil {
		return nil
	}
	return reflect.New(reflect.StructOf(fields)).Elem().Interface()
}

// describeTypes says how our own types look as JSON, which names are always there, and that a program sends no others.
func describeTypes(r *jsonschema.Reflector) {
	text := func(format, example string) jsonschema.Schema {
		var s jsonschema.Schema
		s.AddType(jsonschema.String)
		if format != "" {
			s.WithFormat(format)
		}
		return *s.WithExamples(example)
	}
	r.AddTypeMapping(vent.ID{}, text("uuid", "0197f0a2-7c1e-7b60-9a55-3d2e6c41b870"))
	r.AddTypeMapping(vent.Date(0), text("", "2026-11-25"))
	r.AddTypeMapping(vent.Instant(0), text("", "2026-11-25T08:30:00Z"))
	r.DefaultOptions = append(r.DefaultOptions,
		jsonschema.StripDefinitionNamePrefix("Web", "Vent", "Desk", "Scheduler", "Airflow", "Faults", "Store", "Intake"),
		jsonschema.InterceptSchema(func(p jsonschema.InterceptSchemaParams) (stop bool, err error) {
			if words, ok := apiWords[p.Value.Type()]; ok && p.Processed {
				p.Schema.Enum = words
			}
			return false, nil
		}),
		jsonschema.InterceptProp(func(p jsonschema.InterceptPropParams) error {
			if !p.Processed || p.ParentSchema == nil {
				return nil
			}
			_, options, _ := strings.Cut(p.Field.Tag.Get("json"), ",")
			if p.Field.Tag.Get("json") != "" && !strings.Contains(options, "omit") {
				p.ParentSchema.Required = append(p.ParentSchema.Required, p.Name)
			}
			return nil
		}))
}
