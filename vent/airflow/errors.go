package airflow

import (
	"errors"
	"fmt"
	"strings"
)

// ErrOutsideModel is wrapped by every error about an input that the formulas do
// not hold for. The answer is never a guess.
var ErrOutsideModel = errors.New("outside the airflow model")

// FieldError says which field of a Duct, Blower or rule table is wrong and what
// to do about it. Validate joins all of them with errors.Join.
type FieldError struct {
	Field   string // path in JSON names, such as sections[1].diameter
	Problem string // what is wrong, with the value found
	Remedy  string // what to enter instead
}

// Error gives field, problem and remedy in one line.
func (e *FieldError) Error() string {
	return fmt.Sprintf("%s: %s: %s", e.Field, e.Problem, e.Remedy)
}

// problems collects field errors so that all are reported at once.
type problems []error

func (p *problems) add(field, problem, remedy string) {
	*p = append(*p, &FieldError{Field: field, Problem: problem, Remedy: remedy})
}

// within reports a number that is not in low..high; scale and unit are for display only.
func (p *problems) within(field string, value, low, high, scale float64, unit string) {
	if value >= low && value <= high {
		return
	}
	p.add(field,
		strings.TrimSpace(fmt.Sprintf("%.4g is not between %.4g and %.4g %s", value*scale, low*scale, high*scale, unit)),
		"check the figure and its unit")
}

func (p problems) join() error { return errors.Join(p...) }
