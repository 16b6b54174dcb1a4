package wording

// Spanish of the dryer's parts, the lines of the close-out list, the looks and the steps of the hunt for a cause, by their ids.
var (
	spanishParts = map[string]string{
		"door_switch": "interruptor de la puerta", "thermal_fuse": "fusible térmico", "thermal_cutoff": "limitador térmico", "high_limit": "termostato de alta",
		"cycling_thermostat": "termostato de ciclo", "heater": "resistencia", "motor_switch": "interruptor del motor", "igniter": "encendedor",
		"flame_sensor": "sensor de llama", "valve_coils": "bobinas de la válvula de gas",
	}
	spanishHealthy = map[string]string{
		"door_switch":        "continuidad con la puerta cerrada, ninguna con la puerta abierta",
		"thermal_fuse":       "continuidad, unos 0 ohmios",
		"thermal_cutoff":     "continuidad, unos 0 ohmios",
		"high_limit":         "continuidad en frío; se abre cuando el ducto está tapado y vuelve a cerrarse",
		"cycling_thermostat": "continuidad en frío, y se lo vio ciclar en caliente: abre de 120 a 170 °F (49 a 77 °C)",
		"heater":             "voltios² / vatios de la placa, con un 10 % de margen; nada contra la carcasa",
		"motor_switch":       "su contacto de la resistencia se cierra con el motor en marcha y se abre con el motor parado",
		"igniter":            "continuidad; se pone incandescente y después prende la llama",
		"flame_sensor":       "continuidad en frío; se abre cuando el encendedor está incandescente",
		"valve_coils":        "la resistencia que da el fabricante, en frío y en caliente",
	}
	spanishCloseOut = map[string]string{
		"pushed_back": "secadora empujada de vuelta a su sitio", "transition_not_crushed": "tramo de conexión sin aplastar, sin dobleces y firme en los dos extremos",
		"read_after_push_back": "última medición hecha con la secadora ya en su sitio", "flap_opens_and_shuts": "la tapa se abre con el aire y se cierra después",
		"gas_connector_tested": "conexión de gas probada contra fugas", "gas_valve_open": "llave del gas abierta otra vez", "test_run_with_heat": "prueba de funcionamiento con calor",
		"screen_washed": "filtro de pelusa lavado", "cabinet_cleaned": "gabinete abierto y limpiado", "label_up_to_date": "etiqueta de la secadora puesta al día",
	}
	spanishLooks = map[string]string{
		"supply":     "alimentación: enchufe, toma e interruptor; con 240 V, las dos fases, porque el motor funciona con una sola",
		"gas_supply": "llave del gas abierta, con suministro",
		"run":        "el ducto: aire en la salida, pelusa, tapa, tramo de conexión",
		"screen":     "filtro de pelusa, su paso y la rueda del soplador",
		"terminals":  "terminales flojos o quemados: apretarlos o cambiarlos",
	}
	spanishHunt = map[string]string{
		"read_before":      "mida el aire (velocidad, caudal o presión) con la secadora en su sitio, antes de mover nada",
		"look_air_path":    "mire el camino del aire: filtro de pelusa y su paso, rueda del soplador, tramo de conexión, ducto, tapa, malla en la salida",
		"clean_run":        "limpie todo el ducto de extremo a extremo",
		"check_heat_parts": "revise el limitador térmico y el termostato de alta (se cambian juntos), el termostato de ciclo y la resistencia contra su caja",
		"replace_device":   "ponga un dispositivo nuevo del mismo valor; no lo rearme ni lo puentee nunca",
		"read_after":       "empuje la secadora a su sitio y mida el aire otra vez como antes",
		"hot_cycle":        "hágala funcionar en caliente el mismo día: calienta, y se ve ciclar el termostato",
		"call":             "llame dentro de una semana: ¿seca en un solo ciclo, está fría la parte de arriba?",
		"reading_30_days":  "una medición a los 30 días; basta con la respuesta del cliente",
	}
)
