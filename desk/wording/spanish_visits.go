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
	"page.nav.visits":      "Visitas", "page.visits.title": "Visitas", "page.visits.text": "Las propuestas son solo de la oficina: no se avisa a nadie y la planificación puede moverlas. Lo reservado se queda hasta que alguien lo cambie.",
	"page.visits.week": "Semana del {date}", "page.visits.none": "No hay ninguna visita en el calendario.", "page.visits.nobody": "Todavía nadie hace visitas: dé de alta primero a un técnico.",
	"page.visits.propose": "Proponer visitas de nuevo", "page.visits.sheets": "Hojas del día de hoy:", "page.visits.wishes": "Días que pidieron los clientes",
	"page.visits.proposed": "{new} propuestas nuevas, {moved} movidas, {kept} iguales, {dropped} retiradas; {late} no se pueden hacer a tiempo.",
	"page.visit.title":     "Visita: {where}", "page.visit.was": "Antes era {when}.", "page.visit.notice": "Se avisa a los ocupantes {n} días antes de entrar. La ley local decide cuánto basta.",
	"page.visit.doors": "Puertas", "page.visit.building": "Edificio", "page.visit.door.done": "hecha", "page.visit.door.shut": "nadie abrió", "page.visit.door.refused": "no se permitió",
	"page.visit.close": "Cerrar la visita", "page.visit.close.text": "Anote primero las mediciones en la página de cada conducto. Una puerta hecha sin ellas recibe una anotación sencilla; lo que queda vuelve a la planificación.",
	"page.visit.why": "Por qué", "page.visit.change": "Cambiarla", "page.visit.book": "Reservarla", "page.visit.hold": "Ofrecerla dos días", "page.visit.freeze": "Dejarla aquí", "page.visit.thaw": "Dejar que la planificación la mueva",
	"page.visit.on": "Qué día", "page.visit.at": "A qué hora", "page.visit.move": "Moverla", "page.visit.cancelled_by_office": "anulada por la oficina",
	"page.visit.done": "Anotado: {state}, {when}.", "page.visit.wrong": "No puede ser: revise el día y la hora.",
	"page.day.title": "Hoja del día de {name}, {date}", "page.day.none": "No hay visitas reservadas para este día.", "page.day.drive": "{time} de viaje antes", "page.day.go": "Cómo llegar",
	"page.day.codes": "Los códigos y las llaves se le muestran solo a usted y solo hoy.", "page.day.nocodes": "Los códigos y las llaves se muestran solo al técnico y solo ese día.",
	"page.day.access.note": "Entrada: {text}", "page.day.access.parking": "Aparcamiento: {text}", "page.day.access.keys": "Llaves: {text}", "page.day.access.codes": "Códigos: {text}",
	"page.day.access.dog": "Hay un perro.", "page.day.access.ladder": "Hace falta una escalera.", "page.day.access.roof": "Hay que subir al tejado: solo personas formadas y aseguradas.",
	"page.day.last": "Última visita, {date}: {outcome}.", "page.day.faults": "Defectos abiertos:", "page.day.bring": "Vaya preparado para:",
	"page.ahead.title": "El trabajo que viene", "page.ahead.text": "Doce meses de visitas, semana a semana, frente a las horas que se pueden trabajar. Lo que vuelve a tocar está incluido.",
	"page.ahead.late": "{n} llegan tarde si nada cambia; {room} de ellas no encuentran sitio.", "page.ahead.none": "Nada llega tarde si nada cambia.",
	"page.ahead.line": "{where}: {what}, a más tardar el {date}: {why}", "page.ahead.extra": "{n} días más de un técnico harían todo lo que más manos pueden hacer, el primero el {date}.",
	"page.ahead.week": "Semana del", "page.ahead.visits": "Visitas", "page.ahead.work": "Trabajando", "page.ahead.drive": "De viaje", "page.ahead.can": "Se puede trabajar", "page.ahead.latecol": "Tarde",
	"visit.cause.over": "su plazo ya había pasado", "visit.cause.notice": "su plazo pasa antes de poder avisar", "visit.cause.skill": "nadie está capacitado",
	"visit.cause.window": "ningún día sirve", "visit.cause.off": "nadie trabaja entonces", "visit.cause.closed": "el edificio está cerrado", "visit.cause.access": "el horario del edificio es corto",
	"visit.cause.long": "el trabajo y el viaje no caben en un día", "visit.cause.booked": "visitas reservadas ocupan el tiempo", "visit.cause.full": "otros trabajos ocupan el tiempo",
}
