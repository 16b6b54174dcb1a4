package wording

import "maps"

func init() { maps.Copy(spanish, spanishPicture) }

var spanishPicture = map[string]string{
	"picture.title": "Flujo de aire en el tiempo: {where}", "picture.axis": "parte del flujo limpio (100 % = {speed} en la salida)",
	"picture.due": "limpiar antes del {date}", "picture.today": "hoy", "picture.empty": "Todavía no se ha medido nada",
	"picture.key.before": "hueco: antes del trabajo", "picture.key.cleaned": "limpiado", "picture.key.partly": "limpiado en parte",
	"picture.key.fan": "8 de 10 cursos probables, con su mitad", "picture.key.limit": "límite, {share}", "picture.key.window": "días adecuados",
	"picture.reading.before": "{date}, antes del trabajo: {reading}, {share} del flujo limpio",
	"picture.reading.after":  "{date}, después del trabajo: {reading}, {share} del flujo limpio",
	"picture.reading.leak":   "{date}: {reading}. Poca presión junto con poco flujo no dice nada de la pelusa: busque una fuga.",
	"picture.month.1":        "ene", "picture.month.2": "feb", "picture.month.3": "mar", "picture.month.4": "abr", "picture.month.5": "may", "picture.month.6": "jun",
	"picture.month.7": "jul", "picture.month.8": "ago", "picture.month.9": "sep", "picture.month.10": "oct", "picture.month.11": "nov", "picture.month.12": "dic",
	"picture.text.last": "Última medición, {date}: {reading}, {share} del flujo limpio.", "picture.text.none": "Todavía no hay mediciones de aire.",
	"picture.text.cleaned": "Última limpieza: {date}.", "picture.text.limit": "Debe estar limpio de nuevo antes de bajar del {share} del flujo limpio.",
	"picture.text.due":    "Hay que limpiarlo antes del {date}.",
	"picture.text.likely": "Si nadie limpia, ocho de cada diez cursos probables estarán entre {low} y {high} el {date}, la mitad de ellos por debajo de {middle}.",
	"picture.text.older":  "Lo anterior al {date} no aparece en el dibujo.",
	"sharper.days":        "{n} días", "sharper.month": "un mes", "sharper.months": "{n} meses",
	"sharper.describe_route": "Una descripción del recorrido movería la fecha hasta {much}.", "sharper.reading_now": "Una medición en la salida ahora movería la fecha hasta {much}.",
	"sharper.reading_after_cleaning": "Una medición justo después de la limpieza movería la fecha hasta {much}.", "sharper.count_loads": "Un recuento de las cargas movería la fecha hasta {much}.",
	"page.picture.title": "Flujo en el tiempo", "page.picture.file": "El dibujo como archivo (SVG)", "page.picture.numbers": "Los números detrás de la fecha",
}
