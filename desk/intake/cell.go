package intake

import (
	"errors"
	"fmt"

	"ventdue/vent"
)

// ReadCell reads one cell of a documented column, as it would stand in a row of a file; an empty text is no cell. The
// error says what is wrong and, after a colon, the remedy.
func ReadCell(column, text string, units vent.UnitSystem) (Cell, error) {
	col, known := byName()[column]
	switch {
	case !known:
		return Cell{}, fmt.Errorf("no column is called %q", column)
	case text == "":
		return Cell{}, errors.New("is empty: leave it out")
	}
	return readCell(col, 0, text, units)
}

// Nearest gives the word that differs least from s; "" where none is close.
func Nearest(s string, words []string) string { return nearest(normal(s), words) }

// DuctColumn gives the column in which a row says the field of a duct that airflow names in a FieldError.
func DuctColumn(field string) string {
	switch field {
	case "sections[0].diameter", "transition.diameter":
		return "duct_diameter"
	case "sections[0].material", "sections[0].flex_factor":
		return "duct_material"
	case "transition.length":
		return "transition_length"
	case "transition.material", "transition.flex_factor":
		return "transition_material"
	case "outlet.kind":
		return "outlet"
	}
	return "duct_length"
}
