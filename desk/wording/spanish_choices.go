package wording

import "maps"

func init() { maps.Copy(spanish, spanishChoices) }

var spanishChoices = map[string]string{
	"page.choices.title": "Sus avisos", "page.choices.from": "Avisos de {operator}.",
	"page.choices.stop":  "Si una secadora no debe usarse más, se le avisa de todos modos: se trata de la seguridad. Lo que usted reservó o pidió se le confirma.",
	"page.choices.what":  "¿De qué quiere que le avisemos?",
	"page.choices.kinds": "Avíseme cuando", "page.choices.kind.run_due": "haya que revisar o limpiar un conducto de secadora",
	"page.choices.kind.check_due": "toque una pequeña revisión, como lavar el filtro de pelusa", "page.choices.kind.fault": "haya que corregir un defecto antes de una fecha",
	"page.choices.kind.visit_soon": "se acerque una visita reservada", "page.choices.kind.record": "termine una visita: qué se encontró y qué se hizo",
	"page.choices.first": "Primer aviso", "page.choices.first.usual": "en el momento habitual", "page.choices.first.days": "{n} días antes",
	"page.choices.pause": "Ningún aviso hasta", "page.choices.pause.hint": "Déjelo vacío si no quiere una pausa. Puede durar hasta un año.",
	"page.choices.language": "Idioma", "page.choices.language.en": "English", "page.choices.language.es": "Español",
	"page.choices.save": "Guardar", "page.choices.saved": "Guardado. El próximo correo seguirá lo que usted eligió.",
	"page.choices.off": "Ningún aviso más", "page.choices.off.go": "No me envíen avisos", "page.choices.none": "No recibirá más avisos. Puede cambiarlo aquí cuando quiera.",
	"page.choices.wrong": "No se pudo aceptar. Mire por favor la fecha y lo que está marcado, y guarde otra vez.",
	"page.choices.old":   "Este enlace es demasiado viejo para elegir. Use el de un correo más nuevo, o responda al correo.",

	"mail.choices": "Elija de qué le avisamos, haga una pausa o deje de recibir avisos",
}
