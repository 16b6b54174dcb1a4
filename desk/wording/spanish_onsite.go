package wording

import "maps"

func init() { maps.Copy(spanish, spanishOnsite) }

// spanishOnsite is what a phone says at the dryer.
var spanishOnsite = map[string]string{
	"page.record.here": "Formulario en el escritorio", "page.record.after.text": "Tome la última lectura con la secadora de nuevo en su lugar.",
	"page.record.parts": "Piezas", "page.record.faults": "Fallas", "page.record.close": "Antes de irse", "page.record.photos": "Nota y fotos",
	"page.onsite.run": "Todo sobre este conducto", "page.field.unit_of": "Unidad: {what}",
	"page.unit.hpa": "{n}\u00a0hPa", "page.unit.mmwc": "{n}\u00a0mm\u00a0c.a.",

	"page.judged.open": "{share} del caudal limpio: dentro del límite", "page.judged.near": "{share} del caudal limpio: cerca del límite", "page.judged.past": "{share} del caudal limpio: pasa del límite",
	"page.judged.left_past":  "{share} del caudal limpio después del trabajo: aún pasa del límite",
	"page.judged.leak":       "{share} del caudal limpio con presión baja: no es pelusa. Busque una fuga, una unión suelta o un filtro de pelusa lleno.",
	"page.judged.past_plain": "Pasa del límite", "page.judged.open_plain": "Dentro del límite",
	"page.judged.before": "Antes, {reading}: {verdict}.", "page.judged.after": "Después, {reading}: {verdict}.",

	"page.kept.one": "1 visita espera señal", "page.kept.many": "{n} visitas esperan señal", "page.kept.photos": "Fotos guardadas con esta visita: {n}.",
	"page.kept.asof":    "No hay señal. Esta página es la de {when}.",
	"page.kept.signout": "{waiting}. Se quedan en este dispositivo y se envían cuando la misma persona vuelva a entrar aquí. ¿Salir ahora?",
	"page.kept.refused": "El servidor no aceptó esta visita. Avise a la oficina, o corríjala y envíela otra vez.",
	"page.kept.other":   "Ahora ha entrado otra persona. Entre con el nombre con el que se guardó la visita.",

	"page.waiting.title": "Visitas en espera", "page.waiting.text": "Las visitas anotadas sin señal se guardan en este dispositivo y se envían en su orden en cuanto haya señal.",
	"page.waiting.script": "Este navegador no ejecuta programas: no guarda visitas. El formulario se envía enseguida.",
	"page.waiting.none":   "No espera ninguna visita.", "page.waiting.waits": "Espera señal.", "page.waiting.signin": "Espera a que usted vuelva a entrar.",
	"page.waiting.refused": "No se aceptó: corríjala y envíela otra vez.", "page.waiting.other": "La guardó otra persona ({who}): se envía cuando esa persona entre aquí.",
	"page.waiting.sent": "Enviada y anotada", "page.waiting.edit": "Abrir el formulario", "page.waiting.drop": "Desecharla", "page.waiting.sure": "¿Desechar esta visita? No está anotada en ningún otro lugar.",
	"page.waiting.send": "Enviar ahora", "page.waiting.back": "Volver al trabajo",
}
