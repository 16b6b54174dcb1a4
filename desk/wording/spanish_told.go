package wording

import "maps"

func init() { maps.Copy(spanish, spanishTold) }

var spanishTold = map[string]string{
	"steps.before": "{n} días antes", "steps.before.one": "un día antes", "steps.late.one": "un día después del día", "step.on_the_day": "en el día", "steps.late": "{n} días después del día",
	"steps.stop": "no usar la secadora, avisado el {day}",

	"notice.wanted": "espera su correo", "notice.sent": "avisado", "notice.dropped": "no avisado", "notice.failed": "no se pudo avisar",
	"notice.suppressed": "no enviado", "notice.unsure": "puede haber llegado",

	"message.pending": "en espera", "message.claimed": "en camino", "message.accepted": "enviado", "message.deferred": "se intentará otra vez",
	"message.failed": "rechazado", "message.suppressed": "no enviado", "message.expired": "abandonado", "message.unknown": "sin respuesta, se intenta una vez más",
	"message.dropped": "ya no hace falta",
}
