package estimate

import (
	"bytes"
	"encoding/json"
	"reflect"
	"strings"

	"ventdue/desk/intake"
	"ventdue/vent"
	"ventdue/vent/airflow"
)

// node is a piece of a JSON Schema.
type node map[string]any

// form makes the piece that says what a field takes. A function, so that objects can stand in each other.
type form func() node

// Schema is the JSON Schema (draft 2020-12) of a line.
func Schema() ([]byte, error) {
	t := tables()
	defs := node{}
	for _, o := range []*object{t.run, t.dryer, t.unit, t.site, t.use, t.finding, t.readings} {
		defs[o.name] = o.schema()
	}
	defs["reading"] = schemaOf(reflect.TypeFor[vent.Reading]())
	root := t.line.schema()
	root["$schema"] = "https://json-schema.org/draft/2020-12/schema"
	root["title"] = "One vent run, as a line for ventdue estimate"
	root["description"] = "Figures may carry their unit (\"25 ft\", \"7.6 m\"); a plain number is in the unit system of --units. null says as much as leaving a field out."
	root["$defs"] = defs
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	err := e.Encode(root)
	return b.Bytes(), err
}

// schema describes the object. Every field may be null but the required ones.
func (o *object) schema() node {
	properties := node{}
	var required []string
	for _, f := range o.fields {
		n := f.form()
		if f.required {
			required = append(required, f.name)
		} else {
			n = node{"anyOf": []node{n, {"type": "null"}}}
		}
		n["description"] = f.meaning
		properties[f.name] = n
	}
	n := node{"type": "object", "properties": properties, "additionalProperties": false}
	if required != nil {
		n["required"] = required
	}
	return n
}

func textForm() node  { return node{"type": "string"} }
func boolForm() node  { return node{"type": "boolean"} }
func countForm() node { return node{"type": "integer", "minimum": 0} }
func idForm() node    { return node{"type": []string{"string", "number"}, "maxLength": maxID} }
func dateForm() node {
	return node{"type": "string", "format": "date", "pattern": `^\d{4}-\d{2}-\d{2}$`}
}
func gradeForm() node { return enum(vent.Bare, vent.Film, vent.Fuzz, vent.Mat, vent.Plugged)() }

func massForm() node {
	return node{"type": "string", "pattern": `^[0-9.]+ ?(g|kg|oz|lb)$`, "examples": []any{"120 g", "4 oz"}}
}

func flapForm() node {
	return node{"anyOf": []node{{"enum": []string{"full", "half", "not"}}, {"type": "number", "minimum": 0, "maximum": 1}}}
}

func useForm() node {
	return node{"anyOf": []node{numberForm(0, 1000)(), listOf("use", maxChanges)()}}
}

func byForm() node {
	return node{"anyOf": []node{enum(vent.ByUs, vent.ByCustomer, vent.ByOtherFirm, vent.ByUnknown)(), typed[vent.Doer]()()}}
}

func readingsForm() node {
	return node{"anyOf": []node{{"$ref": "#/$defs/readings"}, listOf("reading", maxReadings)()}}
}

func numberForm(lo, hi float64) form {
	return func() node { return node{"type": "number", "minimum": lo, "maximum": hi} }
}

func inner(name string) form { return func() node { return node{"$ref": "#/$defs/" + name} } }

func listOf(name string, most int) form {
	return func() node { return node{"type": "array", "maxItems": most, "items": node{"$ref": "#/$defs/" + name}} }
}

func enum[T ~string](words ...T) form { return func() node { return node{"enum": words} } }

func enumList[T ~string](words ...T) form {
	return func() node { return node{"type": "array", "items": node{"enum": words}} }
}

// measureForm is a figure with its unit, or a plain number in the unit of --units.
func measureForm(us, si, example string) form {
	return func() node {
		return node{"type": []string{"number", "string"}, "examples": []any{example}, "$comment": "a plain number is " + us + ", with --units si " + si}
	}
}

// columnForm is what an import column takes. Texts are read like a sheet's cells; the schema asks for the plain form.
func columnForm(c intake.Column) form {
	switch base, _, _ := strings.Cut(c.Form(), ","); {
	case c.Choices() != nil:
		return enum(c.Choices()...)
	case c.Unit(vent.US) != "":
		return measureForm(c.Unit(vent.US), c.Unit(vent.SI), c.Example)
	case base == "yes or no":
		return func() node { return node{"enum": []any{true, false, "yes", "no"}} }
	case base == "whole number":
		return func() node { return node{"anyOf": []node{countForm(), {"type": "string", "pattern": `^\d+$`}}} }
	case base == "number":
		return func() node { return node{"type": []string{"number", "string"}} }
	case base == "date":
		return dateForm
	}
	return textForm
}

// typed is the exported form of a type.
func typed[T any]() form { return func() node { return schemaOf(reflect.TypeFor[T]()) } }

// words are the types that take certain texts only.
func words(t reflect.Type) any {
	switch t {
	case reflect.TypeFor[airflow.Material]():
		return airflow.Materials()
	case reflect.TypeFor[airflow.FittingKind]():
		return airflow.FittingKinds()
	case reflect.TypeFor[airflow.OutletKind]():
		return airflow.OutletKinds()
	case reflect.TypeFor[vent.Condition]():
		return []vent.Condition{vent.SamePoint, vent.FlapOpen, vent.EmptyDrum, vent.CleanScreen, vent.WarmDryer, vent.PushedBack}
	case reflect.TypeFor[vent.Quantity]():
		return []vent.Quantity{vent.AirSpeed, vent.Static, vent.Flow, vent.ExhaustT, vent.Flap, vent.DryMinutes, vent.LintMass, vent.Ohms}
	}
	return nil
}

// schemaOf describes the exported form of a Go type by its JSON names.
func schemaOf(t reflect.Type) node {
	if w := words(t); w != nil {
		return node{"enum": w}
	}
	if t == reflect.TypeFor[vent.ID]() {
		return textForm()
	}
	switch t.Kind() {
	case reflect.Pointer:
		return schemaOf(t.Elem())
	case reflect.String:
		return textForm()
	case reflect.Bool:
		return boolForm()
	case reflect.Float64:
		return node{"type": "number"}
	case reflect.Slice:
		return node{"type": "array", "items": schemaOf(t.Elem())}
	case reflect.Struct:
		properties := node{}
		for i := range t.NumField() {
			name, _, _ := strings.Cut(t.Field(i).Tag.Get("json"), ",")
			properties[name] = schemaOf(t.Field(i).Type)
		}
		return node{"type": "object", "properties": properties, "additionalProperties": false}
	}
	return node{"type": "integer"}
}
