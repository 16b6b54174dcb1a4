package wording

import "maps"

func init() { maps.Copy(spanish, spanishLabel) }

var spanishLabel = map[string]string{
	"page.close.call": "Se avisó a alguien", "page.close.call.go": "Anotarlo", "page.close.tag": "La etiqueta en la secadora", "page.close.tag.go": "Anotarlo",
	"page.close.field.role": "En calidad de", "page.close.field.hangs": "Etiqueta", "page.fault.untagged": "No hay etiqueta en la secadora.",
	"page.call.role.occupant": "quien vive allí", "page.call.role.customer": "el cliente", "page.call.role.operator": "usted, el operador", "page.call.role.": "otra persona",
	"page.call.answer": "Su respuesta",
	"page.ack.title":   "No use la secadora", "page.ack.title.over": "Ya no hay nada que confirmar", "page.ack.over": "La secadora fue liberada, o se avisó de nuevo desde entonces.",
	"page.ack.known": "Queda anotado que usted lo sabe. Nadie usa la secadora hasta que la libere una persona cualificada, con su nombre.",
	"page.ack.text":  "Pulse el botón cuando haya leído esto y nadie use la secadora. Así no se le avisará de nuevo cada día.",
	"page.ack.go":    "Lo sé: nadie usa la secadora",
	"mail.ack":       "Lo sé: nadie usa la secadora", "mail.ack.at": "Lo sé, nadie usa la secadora: {where}",
	"mail.sign": "Cuente lo que notó en la secadora", "mail.sign.at": "Cuente lo que notó: {where}",
}
