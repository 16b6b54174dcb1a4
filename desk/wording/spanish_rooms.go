package wording

import "maps"

// The texts of the pages about a day, a month, a building and a customer are a part of their own.
func init() { maps.Copy(spanish, spanishRooms) }

var spanishRooms = map[string]string{
	"page.nav": "Páginas", "page.nav.feeds": "Calendarios",
	"page.nav.today": "Hoy", "page.nav.due": "Pendiente", "page.nav.month": "Mes", "page.nav.find": "Buscar", "page.nav.labels": "Etiquetas", "page.nav.settings": "Ajustes", "page.nav.more": "Más",

	"page.today.title": "Hoy", "page.today.calm": "Nada está atrasado, nada está parado, y llegaron todos los mensajes de las últimas semanas.",
	"page.today.overdue.one": "1 trabajo está atrasado", "page.today.overdue": "{n} trabajos están atrasados", "page.today.soon.one": "En los próximos 30 días: 1 trabajo", "page.today.soon": "En los próximos 30 días: {n} trabajos",
	"page.today.unbooked.one": "1 trabajo aún no tiene visita", "page.today.unbooked": "{n} trabajos aún no tienen visita", "page.today.later.one": "1 trabajo viene más adelante", "page.today.later": "{n} trabajos vienen más adelante",
	"page.today.mail.one": "1 mensaje no llegó", "page.today.mail": "{n} mensajes no llegaron", "page.today.all": "Todos", "page.today.notices": "Lo que se envió y lo que no",
	"page.today.visits": "Próximas visitas", "page.today.no_visits": "No hay visitas reservadas en las próximas dos semanas.",
	"page.visit.doors.one": "1 puerta", "page.visit.doors": "{n} puertas", "page.visit.nobody": "aún sin nombre",
	"page.ownday.title": "Mis visitas", "page.ownday.none": "No tiene visitas reservadas en las próximas dos semanas.",

	"page.find.title": "Buscar", "page.find.label": "Un nombre, dirección, referencia, teléfono o número de serie, o una parte", "page.find.found.one": "1 resultado", "page.find.found": "{n} resultados",
	"page.find.customer": "Cliente", "page.find.site": "Edificio", "page.find.run": "Conducto", "page.find.person": "Persona",

	"page.month.title": "Meses", "page.month.prev": "Mes anterior", "page.month.next": "Mes siguiente", "page.month.now": "Este mes", "page.month.more": "y {n} más",

	"page.site.doors": "Tras sus puertas", "page.site.dues": "Lo pendiente aquí", "page.site.faults.one": "1 defecto abierto", "page.site.faults": "{n} defectos abiertos", "page.site.floor": "Planta {floor}", "page.site.no_visits": "No hay visitas reservadas.",
	"page.customer.sites": "Edificios", "page.customer.no_sites": "Ningún edificio es de este cliente.", "page.customer.people": "A quién avisar", "page.customer.untold": "no recibe correo:",
	"page.customer.runs.one": "1 conducto", "page.customer.runs": "{n} conductos", "page.customer.dues.one": "1 trabajo abierto", "page.customer.dues": "{n} trabajos abiertos", "page.customer.ended": "Ya no se atiende desde el {date}.",
	"page.customer.approvals": "Lo aprobado", "page.customer.accepted": "{what}: sí, dijo {who} el {date}", "page.customer.declined": "{what}: no, dijo {who} el {date}",

	"page.settings.title": "Ajustes", "page.settings.who": "Quién es usted", "page.settings.kept": "Está guardado.", "page.settings.problem": "No se cambió nada: algo del formulario necesita otra mirada.",
	"page.settings.more": "También aquí", "page.settings.file": "Lo que dice el archivo de ajustes", "page.settings.file.text": "Esto no se puede cambiar desde una página. El archivo:", "page.settings.file.none": "no hay ninguno, así que todo está como viene.", "page.settings.show": "Mostrarlos todos",
	"page.erase.title": "Olvidar a una persona", "page.erase.text": "Quita el nombre, las direcciones y los mensajes de una persona de todo lo guardado. Lo que se hizo en los conductos se queda, sin el nombre. No se puede deshacer, y no alcanza a:",
	"page.erase.who": "A quién", "page.erase.who.hint": "Un correo, o una referencia suya.", "page.erase.yes": "Estoy seguro: no se puede deshacer", "page.erase.go": "Olvidarla", "page.erase.sure": "Diga a quién, y que está seguro.", "page.erase.nobody": "Nadie tiene ese correo ni esa referencia.",
	"page.erase.done.one": "1 persona está olvidada.", "page.erase.done": "{n} personas están olvidadas.",
	"page.erase.keeps.places": "direcciones y nombres de edificios y puertas, notas, y mensajes a otros que los nombran", "page.erase.keeps.backups": "copias y exportaciones hechas antes, hasta que usted las quite",
	"page.erase.keeps.space": "el espacio libre del archivo de datos, hasta que se vuelva a usar", "page.erase.keeps.sheet": "la hoja de la que vino: traerla otra vez la trae de vuelta",

	"page.route.picture": "El camino del aire, sin escala", "page.route.picture.told": "Desde la secadora: {parts}.",
}
