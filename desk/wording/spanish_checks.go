package wording

import "maps"

func init() { maps.Copy(spanish, spanishChecks) }

var spanishChecks = map[string]string{
	"check.lint_screen": "Lavar el filtro de pelusa", "check.outlet_flap": "Mirar las compuertas de salida", "check.transition": "Mirar el conducto detrás de la secadora",
	"check.cabinet": "Limpiar el interior de la secadora", "check.gas_connection": "Revisión y prueba de la conexión de gas", "check.co_alarm_test": "Probar la alarma de CO",
	"check.smoke_alarm_test": "Probar la alarma de humo", "check.alarm_replace": "Cambiar la alarma", "check.booster_trap": "Vaciar la trampa de pelusa del conducto",
	"check.ventless_filter": "Lavar el segundo filtro", "check.ventless_coil": "Mirar el serpentín de la secadora sin salida", "check.ventless_drain": "Mirar el desagüe de la secadora sin salida",
	"check.ventless_gasket": "Mirar la junta de la puerta de la secadora sin salida",

	"check.how.lint_screen":      "Lave el filtro de pelusa con un cepillo suave y agua tibia, y déjelo secar: las toallitas de secadora dejan una película que no deja pasar el aire.",
	"check.how.outlet_flap":      "Dé una vuelta al edificio y mire desde el suelo cada compuerta de salida mientras una secadora funciona: se abre, y nada crece ni anida en ella.",
	"check.how.transition":       "Mire el tramo de conducto detrás de la secadora: ni aplastado ni roto, ajustado en ambos extremos. No mueva para ello una secadora de gas.",
	"check.how.cabinet":          "Abrir el mueble de la secadora y sacar la pelusa, la próxima vez que se abra el conducto.",
	"check.how.gas_connection":   "Haga revisar la conexión de gas y probar que no tenga fugas.",
	"check.how.co_alarm_test":    "Presione el botón de la alarma de CO hasta que suene.",
	"check.how.smoke_alarm_test": "Presione el botón de la alarma de humo hasta que suene.",
	"check.how.alarm_replace":    "Cambie la alarma: en la fecha que lleva detrás; si no la lleva, a los 10 años (humo) o 7 años (CO) de su fabricación. Anote la fecha de la nueva.",
	"check.how.booster_trap":     "Vacíe la trampa de pelusa del conducto.",
	"check.how.ventless_filter":  "Lave el segundo filtro de la secadora sin salida y déjelo secar.",
	"check.how.ventless_coil":    "Mire el serpentín de la secadora sin salida: quite la pelusa como lo indica el fabricante.",
	"check.how.ventless_drain":   "Mire el desagüe de la secadora sin salida: manguera o depósito libres.",
	"check.how.ventless_gasket":  "Mire la junta de la puerta de la secadora sin salida: limpia y entera.",
	"check.by.licensed":          "Solo una persona con licencia.", "check.by.competent": "Solo personas capacitadas.",

	"check.line.at_the_dryer": "Revisiones en la secadora", "check.line.outside": "Vuelta al edificio", "check.line.alarms": "Alarmas",
	"check.line.licensed": "Para una persona con licencia", "check.line.opened": "Cuando se abra la secadora",
	"check.errand.alarms": "Probar las alarmas",
	"check.count":         "{n} juntas en un solo recorrido.", "check.doors": "{what}: {where}", "check.doors.more": "y {n} más",
	"check.thing.smoke_alarm": "alarma de humo", "check.thing.co_alarm": "alarma de CO", "check.thing.booster": "ventilador del conducto", "check.thing.lint_trap": "trampa de pelusa", "check.made": "fabricada el {date}",
	"check.interval.one": "cada mes", "check.interval": "cada {n} meses", "check.interval.once": "en su fecha",

	"check.caution.height": "Mire desde el suelo. Nunca suba para mirar.", "check.caution.power": "Desenchufe la secadora o corte su interruptor antes de cualquier trabajo.",
	"check.caution.dust": "La pelusa arde e irrita: mascarilla y guantes, sin chispas, en bolsa y afuera.", "check.caution.gas_work": "El trabajo en piezas, válvulas y conexiones de gas es solo para personas con licencia.",
	"check.caution.gas_move":  "No mueva una secadora de gas sin licencia: su conexión puede agrietarse y tener fugas.",
	"check.caution.gas_smell": "Si huele a gas: ni interruptores ni llamas, todos afuera, y llame desde afuera al número de emergencias de gas.",
	"check.caution.co":        "Si la alarma de CO suena por sí sola: todos afuera de inmediato, y llame al número de emergencias.",

	"page.checks.title": "Revisiones periódicas", "page.checks.text": "Lo que se mira una y otra vez. Marque lo que se hizo y diga quién lo hizo. Las fechas se cuentan desde la última vez que se hizo.",
	"page.checks.run": "Revisiones periódicas aquí", "page.checks.link": "Todas las revisiones periódicas del edificio", "page.checks.none": "Aquí no se pide ninguna revisión periódica.",
	"page.checks.next": "próxima {date}, {away}", "page.checks.last": "hecha por última vez {date} por {who}", "page.checks.never": "aún no se hizo",
	"page.checks.put_off": "aplazada hasta {date} por {who}: {why}", "page.checks.noted": "Nota: {why}",
	"page.checks.field.who": "Quién", "page.checks.field.on": "Día en que se hizo", "page.checks.field.why": "Por qué", "page.checks.field.until": "Aplazar hasta", "page.checks.field.months": "Cada cuántos meses",
	"page.checks.field.made": "Alarma fabricada el (mire detrás de la nueva)", "page.checks.field.replace": "O la fecha del fabricante para cambiarla",
	"page.checks.pick": "Cuáles", "page.checks.done": "Hecho", "page.checks.more": "Omitir, aplazar, cambiar o desactivar",
	"page.checks.do": "Qué", "page.checks.do.skip": "omitirla esta vez", "page.checks.do.putoff": "aplazarla hasta un día", "page.checks.do.set": "cambiar cada cuánto, o corregir la fecha de una alarma", "page.checks.do.off": "no hacerla más", "page.checks.go": "Guardar",
	"page.checks.off": "Desactivadas o terminadas", "page.checks.off.by": "por {who}: {why}", "page.checks.on": "Activar",
	"page.checks.left": "A cargo de quien vive allí", "page.checks.left.text": "De estas no se avisa a nadie. Active las que quiera que se guarden y se avisen.",
	"page.checks.alarm": "Agregar una alarma", "page.checks.alarm.text": "Las alarmas de humo y de CO se gastan. Mire detrás la fecha de fabricación. Sin fecha, hay que mirarla dentro de un mes.",
	"page.checks.alarm.kind": "Tipo", "page.checks.alarm.smoke_alarm": "alarma de humo", "page.checks.alarm.co_alarm": "alarma de CO", "page.checks.alarm.unit": "Dónde",
	"page.checks.alarm.made": "Fabricada el", "page.checks.alarm.replace": "Fecha del fabricante para cambiarla", "page.checks.alarm.go": "Agregar la alarma",
	"page.checks.care": "Con cuidado", "page.checks.problem": "No se cambió nada: algo en el formulario necesita otra mirada.",
	"page.checks.problem.gone": "Esa revisión ya no está. Mire otra vez la lista.",
}
