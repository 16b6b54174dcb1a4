package wording

import "maps"

// The texts of boosters and lint traps in the duct.
func init() { maps.Copy(spanish, spanishInLine) }

var spanishInLine = map[string]string{
	"page.route.in_line":   "En el conducto",
	"page.route.booster":   "ventilador auxiliar",
	"page.route.lint_trap": "trampa de pelusa",
	"page.route.listed":    "certificado para secadoras",
	"page.route.unlisted":  "nadie ha visto que esté certificado para secadoras",
	"page.code.booster":    "Hay un ventilador auxiliar certificado en el conducto: su fabricante dice qué largo puede tener. Compárelo a mano.",
	"page.clean.booster":   "Hay un ventilador auxiliar en el conducto: limpio es lo que se midió justo después de sus limpiezas.",
	"caution.in_line":      "Un ventilador auxiliar en el conducto puede arrancar solo: desconéctelo también antes de abrir el conducto o una trampa.",
	"reason.boosted":       "Hay un ventilador auxiliar en el conducto, del que las fórmulas del flujo de aire no saben nada: la fecha sale de una estimación amplia, y lo que se puede aprender sale de sus propias lecturas. Mida el aire en la salida justo después de cada limpieza, con el ventilador auxiliar en marcha; con eso se comparan las lecturas posteriores.",
}
