package wording

import "maps"

func init() { maps.Copy(spanish, spanishPagesRun) }

// spanishPagesRun are the texts of a run's page: its way, its dryer, its faults, its visits, and figures with their units.
var spanishPagesRun = map[string]string{
	"page.access.dog": "Hay un perro en el lugar.", "page.access.ladder": "Traiga una escalera.", "page.access.parking": "Estacionamiento: {where}", "page.access.roof": "Trabajo en el techo.",

	"page.class.compact": "compacta", "page.class.full_size": "tamaño normal", "page.class.large_tumbler": "de tambor grande",

	"page.clean.computed": "Calculado con la forma del ducto y un soplador habitual; es mejor un valor medido después de limpiar.",
	"page.clean.flow":     "Aire con el ducto limpio", "page.clean.not_computed": "no se pudo calcular", "page.clean.of": "{static} de {limit} permitidos",
	"page.clean.speed": "Velocidad del aire en la salida, limpio", "page.clean.static": "Presión en la secadora, limpio",

	"page.close.field.as": "Con qué derecho: licencia, oficio o autoridad", "page.close.field.how": "Cómo", "page.close.field.on": "Qué día", "page.close.field.until": "Hasta qué día",
	"page.close.field.what": "Qué se encontró y qué se hizo", "page.close.field.who": "Quién", "page.close.field.why": "Por qué",
	"page.close.fix": "Ya se corrigió", "page.close.fix.go": "Anotarlo", "page.close.licence": "Licencia", "page.close.licensed": "Tiene licencia para este trabajo",
	"page.close.release": "Liberar la secadora", "page.close.release.go": "Liberarla", "page.close.waive": "Aplazarlo", "page.close.waive.go": "Aplazarlo",

	"page.code.label": "Etiqueta con la longitud", "page.code.label_needed": "Se pide una etiqueta permanente con la longitud del ducto.",
	"page.code.length": "Longitud según la norma", "page.code.missing": "falta", "page.code.no_edition": "Aquí no se conoce la norma {edition}, así que no se comparó la longitud.",
	"page.code.not_counted": "no se pudo contar", "page.code.of": "{length} de {limit} que permite {rule}", "page.code.of_transition": "{length} de {limit} permitidos",
	"page.code.over": "pasa del límite", "page.code.transition": "Tramo detrás de la secadora", "page.code.within": "dentro del límite",

	"page.dryer.class": "Tamaño", "page.dryer.co": "Alarma de CO", "page.dryer.co_none": "no se sabe de ninguna: una secadora de gas necesita una cerca",
	"page.dryer.co_there": "hay una cerca de la secadora", "page.dryer.fuel": "Calor", "page.dryer.installed": "En uso desde", "page.dryer.made": "Fabricada",
	"page.dryer.maker": "Marca y modelo", "page.dryer.serial": "Número de serie", "page.dryer.static_limit": "Presión máxima en su salida",

	"page.fitting.flex_bend_45": "curva de 45° en ducto flexible", "page.fitting.flex_bend_90": "curva de 90° en ducto flexible",
	"page.fitting.mitered_45_r4": "codo de 45° a inglete", "page.fitting.mitered_90_r4": "codo de 90° a inglete",
	"page.fitting.sectioned_45": "codo ajustable de 45°", "page.fitting.sectioned_90": "codo ajustable de 90°",
	"page.fitting.smooth_45_r10": "codo liso de 45°, radio de 10 pulgadas", "page.fitting.smooth_45_r6": "codo liso de 45°, radio de 6 pulgadas", "page.fitting.smooth_45_r8": "codo liso de 45°, radio de 8 pulgadas",
	"page.fitting.smooth_90_r10": "codo liso de 90°, radio de 10 pulgadas", "page.fitting.smooth_90_r6": "codo liso de 90°, radio de 6 pulgadas", "page.fitting.smooth_90_r8": "codo liso de 90°, radio de 8 pulgadas",

	"page.fuel.": "no se sabe", "page.fuel.electric": "eléctrica", "page.fuel.gas": "de gas", "page.fuel.ventless": "sin salida de aire",

	"page.look.after": "Dejado", "page.look.before": "Encontrado", "page.look.close_out": "Confirmado al final", "page.look.counter": "Cargas en el contador",
	"page.look.faults": "Defectos vistos", "page.look.fixed": "Corregido", "page.look.parts": "Piezas de la secadora", "page.look.reach": "Alcance",
	"page.look.recorded": "Anotado {when} por {who}.", "page.look.symptom": "Qué fallaba",

	"page.material.foil_flex": "lámina sobre espiral de alambre", "page.material.galvanized": "acero galvanizado", "page.material.plastic_flex": "plástico sobre espiral de alambre",
	"page.material.semi_rigid_metal": "metal semirrígido", "page.material.smooth_metal": "metal rígido liso",

	"page.outlet.": "salida sin describir", "page.outlet.eave": "bajo el alero", "page.outlet.flapper": "salida con una tapa", "page.outlet.floating_closure": "salida con copa flotante",
	"page.outlet.louvered": "salida con persianas", "page.outlet.open_end": "extremo abierto, sin tapa", "page.outlet.roof_cap": "salida plana de techo",
	"page.outlet.roof_gooseneck": "cuello de ganso en el techo", "page.outlet.roof_jack_plastic": "salida de techo de plástico", "page.outlet.roof_mushroom": "salida de techo en forma de hongo",
	"page.outlet.wall_2_5_in": "salida de pared angosta",

	"page.part": "{part}: {result}", "page.part.good": "bien", "page.part.not_checked": "sin comprobar", "page.part.open": "circuito abierto", "page.part.out_of_range": "fuera de rango",
	"page.part.replaced": "pieza cambiada", "page.part.shorted_to_case": "en contacto con la carcasa", "page.part.stuck_closed": "no abre, pegado",

	"page.party.anybody": "puede hacerlo cualquiera", "page.party.competent": "por alguien formado para ello", "page.party.licensed": "solo por una persona con licencia",

	"page.reach.": "no se dijo", "page.reach.dryer_side": "desde el lado de la secadora", "page.reach.hood_side": "desde la salida", "page.reach.none": "a ninguna parte",
	"page.reach.through": "se vio de extremo a extremo",

	"page.route.also": "Además", "page.route.cold": "hay partes sin aislar en el frío, donde la pelusa húmeda se pega", "page.route.concealed": "una parte va dentro de paredes, pisos o techos",
	"page.route.duct": "Ducto", "page.route.fitting": "Codos", "page.route.guessed": "estas cifras se dijeron, no se midieron",
	"page.route.none":   "Nadie ha descrito todavía este ducto. Su longitud, codos, material y salida afinarían la fecha; pueden venir con la próxima importación.",
	"page.route.outlet": "Salida", "page.route.roof": "la salida está en el techo", "page.route.transition": "Detrás de la secadora",

	"page.seen.appliance": "Defectos vistos en la secadora", "page.seen.run": "Defectos vistos en el ducto", "page.seen.stop": " (nadie debe usar la secadora)",

	"page.symptom.no_heat": "gira sin calentar", "page.symptom.no_heat_one_setting": "un nivel de calor se queda frío", "page.symptom.no_start": "el tambor no gira",
	"page.symptom.overheats": "se calienta demasiado, o se apagó por calor",

	"page.unit.c": "{n}\u00a0°C", "page.unit.cfm": "{n}\u00a0cfm", "page.unit.f": "{n}\u00a0°F", "page.unit.fpm": "{n}\u00a0ft/min", "page.unit.ft": "{n}\u00a0ft",
	"page.unit.grams": "{n}\u00a0g", "page.unit.in": "{n}\u00a0in", "page.unit.inwc": "{n}\u00a0in\u00a0w.c.", "page.unit.lps": "{n}\u00a0L/s", "page.unit.m": "{n}\u00a0m",
	"page.unit.minutes": "{n}\u00a0min", "page.unit.mm": "{n}\u00a0mm", "page.unit.mps": "{n}\u00a0m/s", "page.unit.ohms": "{n}\u00a0Ω", "page.unit.pa": "{n}\u00a0Pa", "page.unit.share": "{n}\u00a0%",
}
