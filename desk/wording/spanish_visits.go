package wording

import "maps"

func init() { maps.Copy(spanish, spanishVisits) }

// spanishVisits are the texts of visits: calendars, booking by link, day sheets, the work ahead.
var spanishVisits = map[string]string{
	"feed.held":     "Propuesta: {what}",
	"feed.own_time": "Tiempo propio",

	"clock.am": "{h12}:{m} a. m.", "clock.pm": "{h12}:{m} p. m.", "clock.24": "{h24}:{m}",
	"visit.from": "{date}, {from}", "visit.time": "{date}, de {from} a {to}",
	"visit.minutes": "{m} min", "visit.hours": "{h} h", "visit.hours_minutes": "{h} h {m} min",
	"visit.state.proposed": "propuesta", "visit.state.held": "ofrecida", "visit.state.booked": "reservada", "visit.state.done": "hecha",
	"visit.state.part_done": "hecha en parte", "visit.state.nobody_home": "no había nadie", "visit.state.refused": "no se permitió", "visit.state.cancelled": "anulada",

	"page.book.title": "Sus visitas para el conducto de la secadora", "page.book.sites": "Elija un edificio",
	"page.book.agreed": "Acordadas", "page.book.offered": "Ofrecida a usted hasta {when}",
	"page.book.due": "Qué toca hacer", "page.book.due.line": "{what}, mejor antes del {date}",
	"page.book.slots": "Elija una hora", "page.book.slots.about": "La visita dura unos {time}. Conviene que alguien nos abra.",
	"page.book.pick": "Tomar esta hora", "page.book.move": "Elegir otra hora", "page.book.move.title": "Cambiar la visita del {when}", "page.book.move.pick": "Cambiar a esta hora",
	"page.book.keep": "Dejar la hora como está", "page.book.cancel": "Anular", "page.book.agree": "Aceptar esta hora",
	"page.book.proposals": "Hace falta más de una visita. Estos días servirían:",
	"page.book.cutoff":    "Aquí puede cambiar o anular una visita hasta {n} horas antes de que empiece. Después, llámenos, por favor.",
	"page.book.none":      "Por ahora no hay nada que reservar.", "page.book.opens": "Es pronto para reservar: se ofrecen horas a partir del {date}.",
	"page.book.noslot": "No hay ninguna hora libre que sirva. Díganos abajo qué días le convienen y le responderemos.",
	"page.book.wish":   "¿No le conviene ninguna hora? Proponga días con sus palabras", "page.book.wish.go": "Enviar",
	"page.book.wish.have": "Usted pidió: {text}",
	"page.book.booked":    "Reservada: {when}.", "page.book.moved": "Cambiada: ahora es {when}.", "page.book.cancelled": "Anulada. Lo que toca hacer sigue pendiente: elija otra hora, por favor.", "page.book.wished": "Gracias. La oficina le responderá.",
	"page.book.taken": "Esa hora se ocupó entretanto o ya no sirve. Estas horas están libres ahora.",
	"page.book.late":  "Ya es tarde para cambiar aquí esta visita: llámenos, por favor.",
	"page.book.call":  "O llame a {operator}, {phone}.", "page.book.what": "Pulse uno de los botones.",
	"page.book.doors": "Puertas: {doors}",
	"page.book.care":  "Una fecha es un consejo, no un permiso para esperar: si la secadora huele a quemado, párela, salga y llame a emergencias. Las normas locales y las instrucciones del fabricante van primero.",
	"page.book.over":  "Este enlace es demasiado antiguo. El próximo correo trae uno nuevo.",
	"page.book.hold":  "La hora se le guarda hasta {when}.",

	"picture.ahead":        "Horas de visitas por semana frente a las horas que se pueden trabajar",
	"picture.ahead.legend": "Barras: horas de trabajo (oscuro) y de viaje (claro) por semana. Línea discontinua: horas que se pueden trabajar. Una cruz: tantas llegan tarde.",
}
