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
	"picture.labels": "Etiquetas, hoja {n}", "page.labels.title": "Etiquetas para las secadoras", "page.labels.link": "Imprimir esta etiqueta", "page.labels.other": "Otro edificio",
	"page.labels.text":  "Una etiqueta en la secadora lleva a quien vive allí al formulario para contar lo que notó, sin cuenta, y a quien trabaja allí a la página del conducto.",
	"page.labels.sheet": "Hoja", "page.labels.skip": "Etiquetas ya usadas de la primera hoja", "page.labels.skip.hint": "0 para una hoja nueva", "page.labels.skip.problem": "Un número de 0 a {n}.",
	"page.labels.show": "Mostrar", "page.labels.print": "Imprima con el navegador al 100 %, sin márgenes, encabezados ni pies de página.", "page.labels.which": "Qué edificio: palabras de su nombre o dirección",
	"page.labels.find": "Buscar", "page.labels.none": "Ningún edificio coincide.", "page.labels.more": "Hay más: escriba palabras de su nombre.",
	"page.labels.no_base":   "No se ha fijado una dirección para estas páginas (web.base_url); los códigos llevan a la dirección que usa este navegador. Fíjela antes de colgar etiquetas.",
	"page.labels.of.a4":     "A4, {columns} × {rows} etiquetas de {width} × {height}",
	"page.labels.of.letter": "Carta, {columns} × {rows} etiquetas de {width} × {height}",
	"label.danger":          "Si huele a quemado o suena la alarma de CO: pare la secadora, salga y llame al número de emergencias.", "label.scan": "¿Notó algo? Apunte una cámara al código.",
	"label.call": "{operator}, {phone}", "label.length": "Conducto de la secadora: {length} según {rule}, como máximo {limit}. Pregunte antes de cambiarlo.",
	"page.tell.works": "Para quien trabaja en la secadora: la página de este conducto",
	"mail.ack":        "Lo sé: nadie usa la secadora", "mail.ack.at": "Lo sé, nadie usa la secadora: {where}",
	"mail.sign": "Cuente lo que notó en la secadora", "mail.sign.at": "Cuente lo que notó: {where}",
}
