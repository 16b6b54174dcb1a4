package estimate

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"strings"

	"ventdue/desk/intake"
	"ventdue/vent"
)

// exported reads a value in the form of an export into v, a pointer. Fields that v does not have are refused with the
// nearest that it has.
func exported(raw []byte, v any) error {
	err := unmarshal(raw, v)
	if err == nil {
		return nil
	}
	var wrong *json.UnmarshalTypeError
	if errors.As(err, &wrong) {
		return fmt.Errorf("has %s where %s: write it as an export does", wrong.Value, place(wrong))
	}
	if quoted, ok := strings.CutPrefix(err.Error(), "json: unknown field "); ok {
		name := strings.Trim(quoted, `"`)
		return errors.New("has the unknown field " + quoted + hint(name, fieldNames(reflect.TypeOf(v))))
	}
	return errors.New(strings.TrimPrefix(err.Error(), "json: "))
}

// unmarshal refuses unknown fields; what has no fields spares the decoder, which costs more than the value.
func unmarshal(raw []byte, v any) error {
	switch v.(type) {
	case *float64, *int64, *bool, *[]string, *[]vent.Condition:
		return json.Unmarshal(raw, v)
	}
	d := json.NewDecoder(bytes.NewReader(raw))
	d.DisallowUnknownFields()
	return d.Decode(v)
}

func place(e *json.UnmarshalTypeError) string {
	kind := "another value"
	switch e.Type.Kind() {
	case reflect.Float64, reflect.Int, reflect.Int64:
		kind = "a number"
	case reflect.String:
		kind = "a text"
	case reflect.Bool:
		kind = "true or false"
	case reflect.Slice:
		kind = "a list"
	case reflect.Struct, reflect.Pointer:
		kind = "an object"
	}
	if e.Field == "" {
		return kind + " belongs"
	}
	return kind + " belongs in " + e.Field
}

// hint is the remedy for an unknown name.
func hint(name string, known []string) string {
	if n := intake.Nearest(name, known); n != "" {
		return fmt.Sprintf(": did you mean %s?", n)
	}
	return ": use " + strings.Join(known, ", ")
}

// fieldNames lists the JSON names of a type's fields and of those inside them.
func fieldNames(t reflect.Type) []string {
	for t.Kind() == reflect.Pointer || t.Kind() == reflect.Slice {
		t = t.Elem()
	}
	var names []string
	if t.Kind() != reflect.Struct {
		return nil
	}
	for i := range t.NumField() {
		name, _, _ := strings.Cut(t.Field(i).Tag.Get("json"), ",")
		if name != "" && name != "-" {
			names = append(names, name)
			names = append(names, fieldNames(t.Field(i).Type)...)
		}
	}
	return names
}
