package wording

import "maps"

func init() { maps.Copy(spanish, spanishDesk) }

var spanishDesk = map[string]string{
	"page.nav.accounts": "Cuentas", "page.nav.tokens": "Claves", "page.nav.me": "Mi cuenta", "page.signedin": "Sesión abierta:",
	"page.language.own": "Español", "page.language.operator": "la de la instalación",
	"page.role.owner": "Titular", "page.role.office": "Oficina", "page.role.technician": "Técnico",
	"page.role.does.owner":      "Titular: todo, también ajustes, cuentas y claves",
	"page.role.does.office":     "Oficina: todo lo del día",
	"page.role.does.technician": "Técnico: su propio día, y anotar lo que encuentra",

	"page.accounts.title": "Quién entra", "page.accounts.text": "Cada persona que trabaja aquí tiene su propia cuenta. Los clientes y quienes viven con una secadora nunca la necesitan.",
	"page.accounts.open": "Todavía nadie tiene que identificarse: cualquiera en este equipo puede hacerlo todo. Eso termina con la primera cuenta, que debe ser de titular.",
	"page.accounts.list": "Cuentas", "page.accounts.none": "Todavía no hay ninguna cuenta.", "page.accounts.self": "es usted",
	"page.accounts.never": "Nunca ha entrado.", "page.accounts.seen": "Última vez: {when}.",
	"page.accounts.new": "Una cuenta nueva", "page.accounts.new.go": "Crear la cuenta",
	"page.accounts.change": "Cambiar", "page.accounts.change.go": "Guardar",
	"page.accounts.reset": "Contraseña nueva", "page.accounts.reset.text": "Cierra todas sus sesiones. Comunique usted la contraseña nueva; la persona puede cambiarla.", "page.accounts.reset.go": "Poner la contraseña",
	"page.accounts.signout.text": "Cierra todas las sesiones de esta cuenta, en todos los dispositivos.",
	"page.accounts.remove":       "Quitar", "page.accounts.remove.text": "Ya no podrá entrar, y sus sesiones se cierran al momento. Lo que anotó se queda, con su nombre.",
	"page.accounts.everybody": "Cerrar la sesión de todos", "page.accounts.everybody.text": "Cierra todas las sesiones de todos en todos los dispositivos, también esta.",
	"page.accounts.field.name": "Nombre", "page.accounts.field.name.hint": "Se escribe para entrar y queda junto a lo que hace.",
	"page.accounts.field.password": "Primera contraseña", "page.accounts.field.new_password": "Contraseña nueva", "page.accounts.field.password.hint": "Al menos {least} caracteres; varias palabras se recuerdan bien.",
	"page.accounts.field.role": "Qué puede hacer", "page.accounts.field.language": "Idioma de las páginas",
	"page.accounts.field.person": "De quién son las visitas que atiende", "page.accounts.field.person.hint": "De un técnico: su correo o su referencia. Si se deja vacío, es el técnico de este nombre, que se crea si no existe.",
	"page.accounts.done.made": "La cuenta está creada.", "page.accounts.done.changed": "Está cambiado.", "page.accounts.done.password": "La contraseña está puesta y todas sus sesiones están cerradas.",
	"page.accounts.done.signout": "Todas sus sesiones están cerradas.", "page.accounts.done.removed": "La cuenta está quitada.",
	"page.accounts.problem.first":    "La primera cuenta debe ser de titular: desde entonces todos tienen que identificarse, y alguien debe poder crear las demás cuentas.",
	"page.accounts.problem.password": "La contraseña no sirve: use al menos {least} caracteres, como mucho 72 bytes, y no el nombre.",
	"page.accounts.problem.name":     "Falta el nombre o es demasiado largo.", "page.accounts.problem.role": "Elija qué puede hacer.",
	"page.accounts.problem.taken":     "Alguien ya tiene este nombre. Use otro.",
	"page.accounts.problem.person":    "Nadie tiene ese correo ni esa referencia.",
	"page.accounts.problem.person_id": "Diga de quién son las visitas que atiende.",

	"page.me.title": "Mi cuenta", "page.me.language": "Idioma", "page.me.password": "Cambiar mi contraseña", "page.me.present": "Contraseña actual",
	"page.me.password.text": "Se cierran las sesiones en otros dispositivos.", "page.me.wrong": "Esa no es su contraseña actual.", "page.me.wait": "Demasiados intentos. Espere un rato y vuelva a intentarlo.",
	"page.me.none":         "Ha entrado sin una cuenta propia, así que aquí no hay nada que cambiar.",
	"page.me.done.changed": "Está cambiado.", "page.me.done.password": "Su contraseña está cambiada y las sesiones en sus otros dispositivos están cerradas.",

	"page.tokens.title": "Claves para programas", "page.tokens.text": "Un programa envía su clave como «Authorization: Bearer ...» a las direcciones bajo /api/. Dé a cada programa la suya.",
	"page.tokens.new": "Una clave nueva", "page.tokens.make": "Crear la clave", "page.tokens.list": "Claves en uso", "page.tokens.none": "No hay ninguna.", "page.tokens.ended": "Claves retiradas",
	"page.tokens.field.name": "Qué programa", "page.tokens.field.name.hint": "Queda junto a lo que hace.", "page.tokens.field.scope": "Qué puede hacer",
	"page.tokens.may.read": "ver lo pendiente y los conductos", "page.tokens.may.record": "ver, y anotar hallazgos con fotos", "page.tokens.may.all": "todo lo que puede la oficina",
	"page.tokens.created": "Creada {when}.", "page.tokens.used": "Último uso: {when}.", "page.tokens.never": "Nunca usada.", "page.tokens.revoked": "Retirada {when}.",
	"page.tokens.made": "La clave de", "page.tokens.secret": "Clave", "page.tokens.once": "Solo se muestra ahora: no se guarda más que su huella.",
	"page.tokens.gone":   "La clave ya se mostró y no se puede mostrar otra vez. Si se perdió, retírela y cree otra.",
	"page.tokens.revoke": "Retirar", "page.tokens.revoke.text": "El programa queda fuera al momento.",
	"page.tokens.problem": "Diga para qué programa es y qué puede hacer.",

	"page.error.role": "No es para su cuenta", "page.error.role.text": "Su cuenta no puede ver ni hacer esto. Pregunte a quien es titular de esta instalación.",
	"page.error.scope": "No es para esta clave", "page.error.scope.text": "La clave no puede hacer esto. Cree una con más permisos en la página de claves.",
	"page.error.duty": "No está en su lista", "page.error.duty.text": "Puede abrir los conductos de los edificios donde tiene una visita: desde el día anterior hasta una semana después. Pida a la oficina que ponga la visita en su lista.",
	"page.error.owner": "El último titular se queda", "page.error.owner.text": "Esta es la única cuenta de titular. Cree antes otra.",
}
