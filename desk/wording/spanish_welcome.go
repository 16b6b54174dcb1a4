package wording

import "maps"

// The texts of the first days are a part of their own.
func init() { maps.Copy(spanish, spanishWelcome) }

var spanishWelcome = map[string]string{
	"page.new.title": "Todavía no hay nada aquí", "page.new.text": "Ponga sus secadoras y conductos en una hoja de cálculo, una fila por conducto, y tráigala. Primero se revisa, y no se guarda nada antes de que usted lo diga.",
	"page.new.import": "Traer un archivo", "page.new.home": "Describir nuestra secadora: seis preguntas", "page.new.demo": "Para mirar antes, con una flota inventada que se tira después:",
	"page.nav.import": "Importar",

	"page.welcome.title": "Preparar Ventdue", "page.welcome.text": "Diga una vez quién es. Todo se puede cambiar después, en Ajustes.",
	"page.welcome.kind": "¿De qué se ocupa?", "page.welcome.kind.household": "un hogar: nuestra propia secadora", "page.welcome.kind.buildings": "edificios: secadoras tras muchas puertas",
	"page.welcome.kind.customers": "clientes: secadoras de otras personas, como servicio",
	"page.welcome.name":           "Su nombre, o el de su empresa", "page.welcome.name.hint": "Se lee en avisos y calendarios.",
	"page.welcome.zone": "Zona horaria", "page.welcome.zone.hint": "La ciudad por cuyo reloj se rige.",
	"page.welcome.units": "Unidades", "page.welcome.units.us": "pies, pulgadas, ft/min, in w.c.", "page.welcome.units.si": "metros, milímetros, m/s, Pa",
	"page.welcome.email": "Correo (puede quedar vacío)", "page.welcome.email.hint": "Donde se avisa de que algo falló.",
	"page.welcome.phone": "Teléfono (puede quedar vacío)", "page.welcome.phone.hint": "Figura en los avisos: a quién llamar.",
	"page.welcome.lock": "Quién puede entrar", "page.welcome.owner": "Su nombre para entrar", "page.welcome.owner.hint": "Si queda vacío, es el nombre de arriba.",
	"page.welcome.password.open": "Solo en este equipo puede quedar vacía: entonces entra cualquiera que se siente ante él.",
	"page.welcome.go":            "Prepararlo", "page.welcome.code": "Código de preparación", "page.welcome.code.hint": "26 letras y cifras.",
	"page.welcome.code.text":  "Esta instalación es nueva. El programa escribió un código donde se puso en marcha; quien lo tiene prepara la instalación.",
	"page.welcome.code.wrong": "Ese no es el código.", "page.welcome.code.go": "Seguir",
	"page.welcome.problem.kind": "Elija una opción.", "page.welcome.problem.name": "Falta el nombre, o tiene más de 200 letras: se guardan 200 como máximo.", "page.welcome.problem.zone": "Elija una zona horaria.", "page.welcome.problem.units": "Elija las unidades.",
	"page.welcome.problem.email": "Eso no es un correo.", "page.welcome.problem.phone": "No se puede leer.", "page.welcome.problem.language": "Elija un idioma.",
	"page.welcome.problem.password": "La contraseña no sirve: use al menos {least} caracteres, como mucho 72 bytes, y no el nombre.",

	"page.home.title": "Seis preguntas sobre su secadora", "page.home.text": "Lo que no sepa puede quedar vacío. Cada respuesta afina la fecha; todas se pueden cambiar después.",
	"page.home.q1": "1. ¿Quién se ocupa de ella y dónde está?", "page.home.q2": "2. ¿Qué calienta la secadora?", "page.home.q3": "3. ¿Cómo es el conducto?",
	"page.home.q4": "4. ¿Dónde termina?", "page.home.q5": "5. ¿Cuánto se usa?", "page.home.q6": "6. ¿Cuándo se limpió el conducto por última vez?",
	"page.home.name": "Nombre", "page.home.name.problem": "El nombre no se puede leer.", "page.home.email": "Correo para los avisos", "page.home.email.problem": "Eso no es un correo.", "page.home.email.hint": "Si queda vacío no se envía nada; el calendario avisa igualmente.",
	"page.home.address": "Dirección, o el lugar como usted lo llama", "page.home.address.problem": "Diga dónde está, aunque sea «casa».",
	"page.home.fuel": "Calor", "page.home.fuel.problem": "Elija una opción: decide el cuidado con que se calculan las fechas.", "page.home.fuel.electric": "electricidad", "page.home.fuel.gas": "gas", "page.home.fuel.ventless": "sin conducto: de condensación o bomba de calor",
	"page.home.length": "Longitud del conducto", "page.home.length.hint": "De la pared tras la secadora hasta la salida, en {unit}. Basta un cálculo a ojo.", "page.home.length.problem": "Dé una longitud, como 12 ft o 3.5 m.", "page.home.feet": "pies", "page.home.metres": "metros",
	"page.home.elbows": "Codos de 90 grados", "page.home.elbows.problem": "Dé un número de 0 a 50.", "page.home.material": "De qué está hecho", "page.home.material.problem": "Elija una opción.",
	"page.home.outlet": "Salida", "page.home.outlet.flap": "pared exterior, una trampilla", "page.home.outlet.louvers": "pared exterior, varias lamas", "page.home.outlet.roof": "en el tejado", "page.home.outlet.eave": "bajo el alero",
	"page.home.outlet.room": "en la habitación o el garaje", "page.home.outlet.attic": "en el desván", "page.home.outlet.unknown": "no lo sé",
	"page.home.loads": "Cargas por semana", "page.home.loads.hint": "Si queda vacío se calcula con lo usual: 283 al año.", "page.home.loads.problem": "Dé un número de cargas, como 4.",
	"page.home.cleaned": "Día de la última limpieza", "page.home.cleaned.hint": "Del conducto, no del filtro de pelusa. Vacío: nadie lo sabe.", "page.home.cleaned.problem": "Dé un día hasta hoy.",
	"page.home.go": "Mostrar la fecha", "page.home.done": "Listo", "page.home.dates": "Lo que viene", "page.home.see": "Ver el conducto y por qué",
	"page.home.once":     "Se muestra durante diez minutos y no se guarda en ninguna parte. Si se pierde, cree otra en Calendarios.",
	"page.home.calendar": "Póngalo en su calendario", "page.home.feed": "nuestra secadora", "page.home.feeds": "Crear una dirección de calendario",
	"page.home.mail": "Los avisos van a", "page.home.nomail": "No se conoce ningún correo, así que no se avisa a nadie por correo.",
	"page.home.ventless": "Una secadora sin conducto no tiene nada que mantener abierto, así que no hay limpieza pendiente. Su segundo filtro, el serpentín y el desagüe se cuidan como diga el fabricante.",

	"page.import.title": "Traer lo que usted cuida", "page.import.text": "Una fila por conducto, con su edificio, puerta, cliente, secadora y última limpieza. No se guarda nada antes de que usted vea lo leído.",
	"page.import.choose": "Suelte un archivo aquí, o elija uno", "page.import.choose.hint": "csv o xlsx, hasta 32 MB. Uno mayor, y una exportación, entran por orden: ventdue import FILE", "page.import.units": "Unidades de los números sin unidad", "page.import.check.go": "Revisarlo",
	"page.import.nothing": "Elija antes un archivo.", "page.import.columns": "Las columnas", "page.import.columns.text": "La primera fila nombra las columnas, en cualquier orden. Bastan dos: address y fuel; los clientes se nombran con customer_name.",
	"page.import.column": "Columna", "page.import.meaning": "Qué contiene", "page.import.example": "Ejemplo", "page.import.row": "Fila", "page.import.value": "Celda", "page.import.why": "Qué está mal",
	"page.import.check": "Lo que encontró la revisión", "page.import.taken": "Está guardado", "page.import.taken.text": "{rows} filas guardadas, {dues} fechas abiertas. Personas a las que se escribe ahora: {told}.",
	"page.import.good": "Se pueden tomar las {rows} filas.", "page.import.bad": "{bad} de {rows} filas no se pueden tomar como están; problemas: {problems}. Todavía no se ha guardado nada.",
	"page.import.empty": "No dice nada que no esté guardado ya.", "page.import.mended": "Celdas corregidas aquí hasta ahora: {n}.", "page.import.more": "Problemas que aún no figuran: {n}. Aparecen cuando estos estén corregidos.",
	"page.import.tally":         "{what}: {new} nuevos, {changed} cambiados, {same} como estaban",
	"page.import.kind.customer": "Clientes", "page.import.kind.person": "Personas", "page.import.kind.site": "Edificios", "page.import.kind.unit": "Puertas", "page.import.kind.appliance": "Secadoras", "page.import.kind.run": "Conductos", "page.import.kind.finding": "Limpiezas anteriores",
	"page.import.mend": "Corríjalo aquí", "page.import.mend.text": "Cambie las celdas y revise otra vez. El archivo en su equipo queda como está.", "page.import.file": "archivo", "page.import.at": "Fila {row}", "page.import.cell": "Fila {row}, {column}",
	"page.import.ignore": "Pasar por alto las columnas desconocidas", "page.import.again": "Revisar otra vez", "page.import.take": "Tomar todas las filas", "page.import.take.good": "Tomar solo las filas buenas", "page.import.drop": "Olvidar este archivo",
	"page.import.see": "Ver lo pendiente", "page.import.feed": "Crear una dirección de calendario", "page.import.another": "Traer otro archivo",

	"page.error.founded": "Ya está preparada", "page.error.founded.text": "Alguien ya preparó esta instalación. Entre, o abra la primera página.",
	"page.error.upload": "El archivo ya no está aquí", "page.error.upload.text": "Un archivo espera una hora. Si se tomó, está guardado; si no, tráigalo otra vez.",
}
