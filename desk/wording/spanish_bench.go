package wording

import "maps"

func init() { maps.Copy(spanish, spanishBench) }

var spanishBench = map[string]string{
	"page.doubts": "No se puede juzgar con lo anotado", "page.doubt": "{rule}: {why}.",
	"page.bench": "La secadora misma: qué fallaba y revisión de sus piezas", "page.field.symptom": "Qué le pasaba a la secadora", "page.symptom.": "funcionaba como debe",
	"page.bench.healthy": "En buen estado: {healthy} ({by}).", "page.bench.plate": "Según su placa, {ohms}.",
	"page.bench.result": "Resultado", "page.bench.none": "sin anotar", "page.bench.reading": "Medición",
	"page.bench.ohms": "en ohmios", "page.bench.ohms_or_heat": "en ohmios, o donde se abrió en caliente: 151 F, 66 C",
	"page.bench.case": "medido contra la carcasa", "page.bench.case_reading": "Escriba la medición tomada contra la carcasa.",
	"page.field.counter": "Cargas en el contador de la máquina", "page.problem.counter": "El contador muestra un número entero de cargas.",
	"page.verdict.sound": "en buen estado", "page.verdict.bad": "dañada", "page.verdict.unproven": "sin decidir", "page.verdict.not_checked": "sin revisar",
	"page.diagnosis": "Qué se deduce de la revisión de las piezas", "page.diagnosis.explained": "Lo que fallaba queda explicado: {symptom}", "page.diagnosis.open": "Todavía sin explicar: {symptom}",
	"page.diagnosis.explains": "Explica: {what}.", "page.diagnosis.one_shot": "Se abre una sola vez: cámbiela, nunca la rearme ni la puentee.",
	"page.diagnosis.replace": "Falta cambiar: {parts}.", "page.diagnosis.steps": "Por hacer en esta visita, en este orden", "page.diagnosis.next": "Qué mirar después, en este orden",
}
