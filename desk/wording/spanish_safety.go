package wording

// spanishWarnings says each caution of the rules in Spanish, by its id. They are to be as strong as the English ones.
var spanishWarnings = map[string]string{
	"power":     "Desenchufe la secadora o corte su interruptor antes de cualquier trabajo.",
	"one_lead":  "Desconecte un cable de la pieza antes de probarla; si no, la medición pasa por otras piezas.",
	"bypass":    "No puentee nunca un fusible, limitador o termostato, ni para una prueba.",
	"gas_valve": "Cierre la llave del gas antes de cualquier trabajo en una secadora de gas.",
	"gas_work":  "El trabajo en piezas, válvulas y conexiones de gas es solo para personas con licencia.",
	"gas_move":  "Un técnico sin licencia no mueve una secadora de gas: su conexión puede agrietarse y tener fugas.",
	"co":        "Un ducto tapado de una secadora de gas puede soltar monóxido de carbono. Dolor de cabeza, náuseas, debilidad o confusión: todos afuera de inmediato, y después llame al número de emergencias.",
	"smell":     "Si huele a quemado, pare la secadora, salga y llame al número de emergencias.",
	"gas_smell": "Si huele a gas: ni interruptores ni llamas, todos afuera, y llame desde afuera al número de emergencias de gas.",
	"live":      "Los enchufes, tomas y cables quemados son para un electricista. No los toque mientras el interruptor esté conectado.",
	"height":    "Nunca suba para mirar. El trabajo en techos y escaleras es para personas con el equipo necesario, con tiempo seco.",
	"nest":      "Un nido habitado puede estar protegido por la ley. Deje de usar la secadora y no lo saque; pregunte a la autoridad de fauna silvestre.",
	"dust":      "La pelusa arde e irrita: mascarilla y guantes, sin chispas, métala en una bolsa y llévela afuera.",
	"no_permit": "Una fecha aquí es un consejo, no un permiso para esperar.",
	"codes":     "Las normas del lugar y las instrucciones del fabricante van primero.",
	"no_use":    "Nadie usa la secadora hasta que una persona cualificada, con su nombre, la libere: interruptor cortado o desenchufada, y llave del gas cerrada.",
	"oily":      "La tela con aceite, cera, pintura o disolvente puede incendiarse sola, en el tambor o doblada. No va en una secadora.",
}

// Spanish of the signs by their kind: what was noticed, and what the one who noticed it is told at once.
var (
	spanishNoticed = map[string]string{
		"two_cycles":    "la ropa necesita un segundo ciclo",
		"hot_top":       "la secadora o la ropa se calientan mucho",
		"damp_room":     "el cuarto de lavado está caliente y húmedo",
		"weak_flap":     "la tapa de la salida apenas se abre",
		"burning_smell": "olor a quemado",
		"co_alarm_rang": "sonó una alarma de CO",
	}
	spanishAdvice = map[string]string{
		"two_cycles":    esLook,
		"hot_top":       "No deje la secadora funcionando sola y seque menos ropa a la vez. Si huele a quemado, párela, salga y llame al número de emergencias.",
		"damp_room":     esLook,
		"weak_flap":     esLook,
		"burning_smell": "Pare la secadora si puede hacerlo sin peligro. Todos afuera, cierre la puerta y llame desde afuera al número de emergencias. Nadie usa la secadora hasta que una persona cualificada la libere.",
		"co_alarm_rang": "Todos afuera, al aire libre, ahora mismo; después llame al número de emergencias. Diga si alguien tiene dolor de cabeza, náuseas o confusión. Nadie usa la secadora hasta que una persona cualificada la libere.",
	}
)

const esLook = "Alguien lo revisará. Hasta entonces, limpie el filtro de pelusa antes de cada carga y pare si empeora."
