package wording

import "maps"

func init() { maps.Copy(spanish, spanishFeeds) }

var spanishFeeds = map[string]string{
	"page.feeds.scope.person": "las visitas de un técnico", "page.feeds.field.shows": "Solo esto (sin marcar nada es todo)",
	"page.feeds.part.dues": "lo que toca hacer", "page.feeds.part.checks": "pequeñas revisiones", "page.feeds.part.visits": "visitas",
	"page.feeds.field.more": "Además", "page.feeds.more.alarms": "una alarma una semana antes y el mismo día (muchos calendarios las quitan)",
	"page.feeds.more.tasks": "una tarea por cada cosa que toca (pocos calendarios muestran tareas de una suscripción)",
	"page.feeds.only":       "Solo: {parts}.", "page.feeds.with.alarms": "Con alarmas.", "page.feeds.with.tasks": "Con tareas.",
	"page.feeds.plain": "Abrir la dirección misma",
}
