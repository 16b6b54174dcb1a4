package wording

import "maps"

func init() { maps.Copy(spanish, spanishPaper) }

// spanishPaper are the texts of the service record that is printed.
var spanishPaper = map[string]string{
	"page.paper.after_that": "Última visita, {date}: {outcome}.", "page.paper.back": "Volver", "page.paper.cleaned": "Limpiado de extremo a extremo el {date} ({who}).",
	"page.paper.closed": "Corregido antes", "page.paper.col.door": "Puerta y secadora", "page.paper.col.faults": "Defectos abiertos", "page.paper.col.last": "Última limpieza y medición",
	"page.paper.col.next": "Lo próximo, y por qué", "page.paper.col.state": "Estado",
	"page.paper.corrected": "Esta visita se anotó de nuevo después. Lo que dice aquí ya no cuenta; lo válido está en el registro de servicio del ducto.",
	"page.paper.csv":       "Como tabla (csv)", "page.paper.ended": "Se dejan fuera {n} ductos que ya no se llevan.", "page.paper.ended.one": "Se deja fuera 1 ducto que ya no se lleva.",
	"page.paper.for": "para", "page.paper.link": "Registro de servicio", "page.paper.link_site": "Registro de servicio del edificio", "page.paper.next": "{what}: {date}",
	"page.paper.next_title": "Qué viene después, y por qué", "page.paper.no_faults": "No se conoce ningún defecto.", "page.paper.no_runs": "En este edificio no se lleva ningún ducto.",
	"page.paper.not_cleaned": "No se conoce ninguna limpieza de extremo a extremo.", "page.paper.nothing": "nada pendiente", "page.paper.open": "Qué falta por corregir",
	"page.paper.print": "Imprima esta página con el navegador, o guárdela como PDF.", "page.paper.recorded": "Anotado {when}.",
	"page.paper.seen": "Visto por: nombre, firma, día", "page.paper.signed": "Hecho por: nombre, firma, día", "page.paper.state": "Cómo está hoy:", "page.paper.tally": "{n} {state}",
	"page.paper.title": "Registro de servicio", "page.paper.title_site": "Registro de servicio de un edificio", "page.paper.title_visit": "Registro de servicio del {date}",
	"page.paper.visit": "Qué se encontró y qué se hizo", "page.paper.visits": "Todas las visitas, la más reciente primero", "page.paper.written": "Escrito el {date}.",
}
