package wording

import "maps"

func init() { maps.Copy(spanish, spanishPaper) }

var spanishPaper = map[string]string{
	"page.paper.after_that":  "Última visita {date}: {outcome}.",
	"page.paper.back":        "Volver",
	"page.paper.cleaned":     "Limpiado de extremo a extremo {date} ({who}).",
	"page.paper.closed":      "Arreglado antes",
	"page.paper.col.door":    "Puerta y secadora",
	"page.paper.col.faults":  "Fallas abiertas",
	"page.paper.col.last":    "Última limpieza y medición",
	"page.paper.col.next":    "Lo próximo, y por qué",
	"page.paper.col.state":   "Estado",
	"page.paper.corrected":   "Esta visita se anotó de nuevo más tarde. Lo que dice aquí ya no vale; lo válido está en el registro de servicio del ducto.",
	"page.paper.csv":         "Como tabla (csv)",
	"page.paper.ended":       "Se omiten {n} ductos que ya no se atienden.",
	"page.paper.ended.one":   "Se omite 1 ducto que ya no se atiende.",
	"page.paper.for":         "para",
	"page.paper.link":        "Registro de servicio",
	"page.paper.link_site":   "Registro de servicio del edificio",
	"page.paper.next":        "{what}: {date}",
	"page.paper.next_title":  "Qué sigue, y por qué",
	"page.paper.no_faults":   "No se conoce ninguna falla.",
	"page.paper.no_runs":     "En este edificio no se atiende ningún ducto.",
	"page.paper.not_cleaned": "No se conoce ninguna limpieza de extremo a extremo.",
	"page.paper.nothing":     "no hay nada pendiente",
	"page.paper.open":        "Qué falta por arreglar",
	"page.paper.print":       "Imprima esta página con el navegador o guárdela como PDF.",
	"page.paper.recorded":    "Anotado {when}.",
	"page.paper.seen":        "Visto por: nombre, firma, día",
	"page.paper.signed":      "Hecho por: nombre, firma, día",
	"page.paper.state":       "Cómo está hoy:",
	"page.paper.tally":       "{n} {state}",
	"page.paper.title":       "Registro de servicio",
	"page.paper.title_site":  "Registro de servicio de un edificio",
	"page.paper.title_visit": "Registro de servicio de {date}",
	"page.paper.visit":       "Qué se encontró y qué se hizo",
	"page.paper.visits":      "Todas las visitas, la más reciente primero",
	"page.paper.written":     "Escrito {date}.",
}
