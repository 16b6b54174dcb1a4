package wording

import "maps"

func init() { maps.Copy(spanish, spanishLetters) }

// spanishLetters are the texts of mails about visits, what was done, and what needs somebody.
var spanishLetters = map[string]string{
	"step.1_day": "la víspera", "step.booked": "al acordarse", "step.moved": "al cambiarse", "step.cancelled": "al cancelarse",
	"step.entry": "días antes de que entre alguien", "step.recorded": "al terminar",

	"letter.at":                   "{date}, {time}",
	"letter.line":                 "{what}, {where}",
	"letter.subject.visit_booked": "Visita acordada para el {date}, {time}: {where}", "letter.subject.visit_moved": "La visita pasa al {date}, {time}: {where}",
	"letter.subject.visit_cancelled": "Se cancela la visita del {date}, {time}: {where}", "letter.subject.visit_soon": "Visita {away}, {date}, {time}: {where}",
	"letter.subject.entry":      "Alguien entrará el {date}, {time}: {where}",
	"letter.title.visit_booked": "La visita está acordada", "letter.title.visit_moved": "La visita ha cambiado", "letter.title.visit_cancelled": "La visita se ha cancelado",
	"letter.title.visit_soon": "Una visita al conducto de la secadora", "letter.title.entry": "Alguien entrará por el conducto de la secadora",
	"letter.top": "{date}, {time}, {away}", "letter.top.visit_moved": "Ahora {date}, {time}, {away}. Era {was}.",
	"letter.top.visit_cancelled": "Nadie irá el {date}, {time}.",
	"letter.top.more":            "La primera: {when}",
	"letter.title.more":          "{n} visitas: novedades",
	"letter.who":                 "Quién va", "letter.long": "Duración", "letter.minutes": "unos {n} minutos", "letter.work": "Qué se hará",
	"letter.why.visit_booked": "Usted la pidió, o se acordó con usted.", "letter.why.visit_moved": "La hora que se le dijo antes ya no vale.",
	"letter.why.visit_cancelled": "Se ha anulado. El trabajo sigue pendiente: hay que buscar otro día.",
	"letter.why.visit_soon":      "Un recordatorio de la visita acordada.",
	"letter.why.entry":           "{customer} hace cuidar el conducto de la secadora de su vivienda. Se le avisa con tiempo porque alguien tiene que entrar.",
	"letter.ready":               "Antes de la visita", "letter.ready.open": "Alguien tiene que abrir la puerta, y debe poder llegarse a la secadora.",
	"letter.ready.cold": "Deje la secadora apagada y vacía desde una hora antes. No la mueva usted, sobre todo si es de gas.",
	"letter.law":        "Con cuánta antelación debe anunciarse una entrada lo deciden la ley del lugar y su contrato; este correo no es consejo legal. Si la hora no le conviene, dígalo.",
	"letter.calendar":   "El archivo visit.ics la pone en su calendario.", "letter.calendar.gone": "El archivo visit.ics la marca como cancelada en su calendario.",
	"letter.contact": "Si no le conviene, responda a este correo. Llega a {operator}.", "letter.contact.phone": "Si no le conviene, responda a este correo o llame a {operator}, {phone}.",
	"letter.contact.self": "Si no le conviene, cámbielo en su lista.",
	"letter.book":         "Elegir un día", "letter.rebook": "Cambiarla o cancelarla",
	"letter.why_you":        "{name}, recibe esto de {operator} porque una visita le concierne. No es publicidad y llega también a quien no quiere recordatorios.",
	"letter.record.subject": "{outcome}, {date}: {where}",
	"letter.record.title":   "Qué se hizo", "letter.record.top": "El {date}", "letter.record.item": "{where}, {date}",
	"letter.record.outcome": "Resultado", "letter.record.before": "Estaba", "letter.record.after": "Quedó", "letter.record.next": "Lo próximo: {what}, a más tardar el {date}.",
	"letter.record.none": "Por ahora no hay nada más pendiente.", "letter.record.fault": "Todavía por arreglar: {what}.",
	"letter.record.failed":    "No se pudo hacer. Sigue pendiente.",
	"letter.record.corrected": "Esto sustituye a lo que se dijo antes.",
	"letter.record.button":    "Abrir el registro", "letter.record.open": "El registro del {date}, {where}",
	"letter.record.care":    "Como siempre",
	"letter.record.contact": "Si algo no es correcto, responda a este correo. Llega a {operator}.",
	"letter.record.why_you": "{name}, recibe esto de {operator} como constancia del trabajo en el conducto de su secadora. Guárdelo: lo piden aseguradoras y propietarios.",

	"letter.sum.subject.one": "1 asunto le espera, {date}", "letter.sum.subject": "{n} asuntos le esperan, {date}", "letter.sum.subject.none": "Nada le espera, {date}",
	"letter.sum.title": "Qué le espera hoy", "letter.sum.title.none": "Hoy nada le espera",
	"letter.sum.stops": "Secadoras que nadie puede usar ({n})", "letter.sum.spent": "Avisados hasta el último recordatorio sin resultado: llámelos ({n})",
	"letter.sum.unbooked": "Hace falta una visita en tres semanas y no hay ninguna acordada ({n})", "letter.sum.unwritten": "Visitas pasadas de las que no hay nada anotado ({n})",
	"letter.sum.untold": "Clientes a los que no llega ningún correo: llámelos ({n})", "letter.sum.undelivered": "Correos abandonados desde el último resumen ({n})",
	"letter.sum.held": "Se alcanzó el límite de correos por día: correos retenidos hasta el día siguiente ({n}). Los límites son ajustes (mail.per_day, mail.per_person).",
	"letter.sum.more": "y {n} más", "letter.sum.mail": "{name}, {to}: {why}", "letter.sum.customer": "{name}: {why}", "letter.sum.no_contact": "no se conoce ningún contacto",
	"letter.sum.call":   "{line} ({customer})",
	"letter.sum.none":   "Todo está bien: ninguna secadora parada, nadie a quien llamar, todos los correos entregados. Esta línea llega los lunes para que el silencio no parezca salud.",
	"letter.sum.button": "Abrir la lista", "letter.sum.why_you": "Este es el resumen diario de {operator}. Se apaga con mail.summary en los ajustes.",
}
