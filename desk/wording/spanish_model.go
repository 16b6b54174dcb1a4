package wording

import "maps"

// The texts of what the lint model cannot compute.
func init() { maps.Copy(spanish, spanishModel) }

var spanishModel = map[string]string{
	"reason.outside_model": "El conducto, tal como está descrito, queda fuera de lo que abarcan las fórmulas del flujo de aire; por eso la fecha sale de una estimación amplia. Revise longitud, diámetro, codos y ventilador; una medición en la salida después de limpiar la afinaría.",
}
