package wording

import "maps"

func init() { maps.Copy(spanish, spanishStory) }

var spanishStory = map[string]string{
	"story.moment": "{date}, {time}", "story.nobody": "nadie todavía", "story.heading": "{date}: {class} a {to}: {state}",
	"story.class.reminder": "aviso", "story.class.stop": "parada", "story.class.visit": "noticia de una visita", "story.class.record": "informe de una visita", "story.class.summary": "resumen del día",

	"story.person.no_address":  "No se conoce ninguna dirección de correo, así que no se puede enviar nada.",
	"story.person.dead":        "El correo a {address} no se entrega, así que no se envía ninguno hasta que haya otra dirección. Se dijo: {why}",
	"story.person.unreachable": "No recibe avisos: {why}.",
	"story.person.refused_all": "Pidió no recibir avisos{said}. Una parada, y lo que toca a una visita acordada, se le dice de todos modos.",
	"story.person.refused":     "No quiere que se le avise cuando: {what}{said}.",
	"story.said":               " el {when}, por {how}",
	"story.how.one-click":      "un clic en el programa de correo", "story.how.preference_page": "la página del enlace del correo", "story.how.complaint": "una queja al proveedor de correo",
	"story.person.paused": "Pidió una pausa hasta el {date}.", "story.person.first": "Pidió el primer aviso {n} días antes.",
	"story.person.nothing": "No hay nada abierto para esta persona, así que no hay nada que decir.",
	"story.person.ahead":   "Lo próximo para esta persona: {what}, {where}, antes del {date}.",
	"story.person.next":    "Se vuelve a mirar el {when}.",

	"story.state.pending":    "Espera su envío, no antes del {next}.",
	"story.state.claimed":    "Se está entregando ahora mismo, desde el {last}.",
	"story.state.accepted":   "Entregado el {settled}: el servidor lo aceptó.",
	"story.state.deferred":   "Aún no aceptado. Intentado {n} vez/veces, la última el {last}; se intenta de nuevo desde el {next}.",
	"story.state.failed":     "No entregado, y no se intenta más.",
	"story.state.suppressed": "No enviado.",
	"story.state.expired":    "Abandonado tras {n} vez/veces, la última el {last}.",
	"story.state.unknown":    "Enviado el {last}, pero se perdió la respuesta: puede haber llegado. Se intenta una vez más desde el {next}, como el mismo correo.",
	"story.state.dropped":    "No enviado: nada en él era ya cierto cuando llegó su hora.",
	"story.unknown":          "En algún momento se perdió su respuesta, así que puede haber llegado dos veces, como el mismo correo.",
	"story.return.bounced":   "Volvió el {when}: {why}", "story.return.delayed": "Un servidor más adelante aún no pudo entregarlo, según dijo el {when}: {why}",
	"story.return.complaint": "El {when} el proveedor de correo informó de que la persona no lo quiere. No se le envían más avisos.",
	"story.answer":           "Se dijo: {answer}",

	"story.due": "{what}, {where}, antes del {date}", "story.thing": "{what}, {date}", "story.step": "{what} ({step})", "story.line": "{what}: {state}", "story.because": "{state} ({why})",
	"story.kind.visit_booked": "se acordó una visita", "story.kind.visit_moved": "se cambió una visita", "story.kind.visit_cancelled": "se canceló una visita",
	"story.kind.visit_soon": "se acerca una visita", "story.kind.entry": "alguien entrará", "story.kind.record": "qué se encontró y qué se hizo", "story.kind.summary": "lo que necesita a alguien",
	"story.kind.stop": "una secadora no debe usarse",

	"page.nav.mail": "Correo", "page.mail.title": "Correo", "page.mail.title_of": "Correo a {name}", "page.mail.text": "Qué se envió a quién, qué fue de ello, y por qué alguien no recibió nada. Desde aquí no se ve si un correo cayó entre los no deseados.",
	"page.mail.dead": "A estas personas no les llega el correo", "page.mail.persons": "Quién", "page.mail.messages": "Mensajes, primero los más nuevos", "page.mail.none": "Ningún mensaje todavía.",
	"page.mail.more": "{n} mensajes más antiguos no se muestran.", "page.mail.ask": "Una persona o un cliente", "page.mail.ask.hint": "Una dirección de correo, una clave suya, o palabras del nombre de un cliente.", "page.mail.ask.go": "Mostrar",
	"page.mail.nobody": "Nadie coincide. Pruebe una dirección de correo, u otras palabras del nombre de un cliente.",
	"page.mail.void":   "Anular los enlaces antiguos", "page.mail.void.text": "Los enlaces a la página de elección en todos los correos anteriores dejan de funcionar, por si uno se ha extraviado. El próximo correo lleva uno nuevo.",
	"page.mail.void.done": "Los enlaces de correos anteriores ya no funcionan.", "page.mail.all": "Todo el correo", "page.mail.ways": "Se le avisa por", "page.mail.way.mail": "correo", "page.mail.way.webhook": "el webhook (mensaje de texto o chat)", "page.mail.ways.go": "Guardar", "page.mail.link": "A quién se avisó",
}
