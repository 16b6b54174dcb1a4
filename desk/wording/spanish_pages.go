package wording

import "maps"

// The texts that stand on most pages are a part of their own.
func init() { maps.Copy(spanish, spanishPages) }

var spanishPages = map[string]string{
	"page.board.all": "Mostrar todo", "page.board.none": "Nada pendiente encaja aquí.", "page.board.title": "Lo pendiente", "page.board.today": "Hoy es {date}.",
	"page.by.customer": "el cliente", "page.by.other_firm": "otra empresa", "page.by.unknown": "no se sabe", "page.by.us": "nosotros",

	"page.error.conflict": "Ya no encaja", "page.error.conflict.text": "Alguien lo cambió entretanto, o ya estaba hecho. Mírelo otra vez.",
	"page.error.cross": "Rechazado", "page.error.cross.text": "El formulario se envió desde otro sitio. Abra estas páginas y use el formulario de aquí.",
	"page.error.home": "Ir a lo pendiente", "page.error.host": "Rechazado",
	"page.error.host.text": "Estas páginas están abiertas sin contraseña y por eso solo responden en este equipo, como localhost. Para usarlas desde otro, ponga una contraseña (web.password).",
	"page.error.internal":  "Algo falló aquí", "page.error.internal.text": "No es culpa suya. No se cambió nada; el registro dice qué pasó. Inténtelo otra vez y avise al responsable si sigue igual.",
	"page.error.invalid": "No puede ser", "page.error.invalid.text": "Algo de lo indicado no se puede leer o no puede ser cierto.",
	"page.error.json": "No es JSON", "page.error.json.text": "Envíe el contenido como application/json.",
	"page.error.large": "Demasiado de una vez", "page.error.large.text": "Lo enviado es mayor que cualquier formulario de estas páginas.",
	"page.error.method": "No es posible", "page.error.method.text": "Esta dirección no admite peticiones de ese tipo.",
	"page.error.missing": "No encontrado", "page.error.missing.text": "No se guarda nada en esta dirección. Puede estar mal escrita o haber terminado.",
	"page.error.token": "Sin identificar", "page.error.token.text": "Envíe la clave como \"Authorization: Bearer ...\", o entre.",
	"page.error.unreadable": "No se puede leer", "page.error.unreadable.text": "Envíe el formulario de la página, o JSON con los campos documentados.",

	"page.fault.acknowledged": "Dijo que lo sabe.", "page.fault.do": "Para corregirlo: {do} ({by}).", "page.fault.fix": "corregir antes del {date}", "page.fault.fixed": "corregido {date} por {who}",
	"page.fault.found": "encontrado {date}", "page.fault.late": "atrasado, había que corregirlo antes del {date}", "page.fault.note": "recordar", "page.fault.tagged": "La secadora lleva una etiqueta colgada.",
	"page.fault.told": "Se avisó a {who} {when} ({how}).", "page.fault.waived": "aplazado hasta {date} por {who}",

	"page.feeds.address": "Dirección secreta: cópiela en el programa de calendario", "page.feeds.created": "Creada {when}.", "page.feeds.ended": "Direcciones terminadas", "page.feeds.fetched": "Leída por última vez {when} por {who}.",
	"page.feeds.field.name": "Nombre del calendario", "page.feeds.field.name.hint": "Para distinguirlos, por ejemplo quién lo usa.", "page.feeds.field.scope": "Qué muestra", "page.feeds.field.which": "Cuál",
	"page.feeds.field.which.hint": "Palabras del nombre del cliente, o del nombre o la dirección del edificio. Déjelo vacío para todo.", "page.feeds.gone": "La dirección nueva ya no se muestra. Si no se copió, cree otra abajo.",
	"page.feeds.list": "Direcciones en uso", "page.feeds.made": "La dirección de", "page.feeds.make": "Crear la dirección", "page.feeds.never": "Aún no se ha leído.", "page.feeds.new": "Crear un calendario",
	"page.feeds.none": "Aún no se ha creado ninguna dirección de calendario.", "page.feeds.once": "Se muestra durante diez minutos y no se guarda en ninguna parte. Si se pierde, o cae en malas manos, cree otra abajo.",
	"page.feeds.problem.none": "Aquí no se guarda nada con ese nombre. Pruebe con menos palabras o con otras.", "page.feeds.problem.scope": "Elija qué muestra el calendario.", "page.feeds.problem.several": "Encajan varios. Elija uno.",
	"page.feeds.problem.which": "¿Qué cliente o edificio? Dé palabras de su nombre.", "page.feeds.replaced": "Sustituida por una dirección nueva {when}.", "page.feeds.revoke": "Terminarla", "page.feeds.revoke.go": "Terminar esta dirección",
	"page.feeds.revoke.text": "La dirección deja de valer al momento y no se puede recuperar.", "page.feeds.revoked": "Terminada {when}.", "page.feeds.rotate": "Dirección nueva", "page.feeds.rotate.go": "Crear una dirección nueva",
	"page.feeds.rotate.text": "La dirección actual deja de valer al momento; quien la usa necesita la nueva.", "page.feeds.scope.customer": "un cliente", "page.feeds.scope.operator": "todo", "page.feeds.scope.site": "un edificio",
	"page.feeds.shows.customer": "Muestra el cliente {name}.", "page.feeds.shows.operator": "Muestra todo.", "page.feeds.shows.person": "Muestra las visitas de {name}.", "page.feeds.shows.site": "Muestra el edificio {name}.",
	"page.feeds.somebody": "un programa sin nombre", "page.feeds.subscribe": "Suscribirse en este dispositivo", "page.feeds.title": "Calendarios",
	"page.feeds.text": "Una dirección secreta a la que se suscribe cualquier programa de calendario. Muestra lo pendiente y se mantiene al día sola. Quien tiene la dirección puede leerla.",

	"page.field.by": "Quién lo hizo", "page.field.by_name": "Nombre", "page.field.close_out": "Confirmado antes de irse", "page.field.date": "Día", "page.field.fixed": "Corregido en esta visita", "page.field.kept": "Fotos de esta visita",
	"page.field.lint_after": "Pelusa después, en el peor punto", "page.field.lint_before": "Pelusa antes, en el peor punto", "page.field.note": "Nota", "page.field.outcome": "Resultado", "page.field.photos": "Fotos",
	"page.field.photos.hint": "Como mucho {n}, jpeg o png, de hasta {mb} MB cada una. No se guarda dónde se hicieron.", "page.field.reach": "Hasta dónde llegó el cepillo o la vista",
	"page.field.speed_after": "Velocidad del aire en la salida, después", "page.field.speed_before": "Velocidad del aire en la salida, antes", "page.field.static_after": "Presión estática en la secadora, después", "page.field.static_before": "Presión estática en la secadora, antes",

	"page.foot":            "Una fecha aquí es un consejo, no un permiso para esperar. Las normas locales y las instrucciones del fabricante van primero.",
	"page.history.correct": "Corregir esto", "page.history.corrected": "corregido después, ya no cuenta", "page.history.corrects": "corrige una anotación anterior", "page.history.earlier": "Mostrar toda la historia", "page.history.none": "Aún no se ha anotado nada.", "page.history.title": "Historia",
	"page.pages": "Más de la lista", "page.pages.first": "Desde el principio", "page.pages.next": "Siguientes", "page.pages.prev": "Anteriores",
	"page.pick.all": "Todo", "page.pick.later": "Más adelante", "page.pick.overdue": "Atrasado", "page.pick.soon": "Próximos 30 días", "page.pick.stop": "No usar", "page.pick.unknown": "Última limpieza desconocida", "page.picks": "Partes de la lista",
	"page.problem.conflict": "No se anotó nada: ya hay una visita de {date} en este conducto que dice otra cosa.", "page.problem.date_missing": "¿Qué día fue?", "page.problem.form": "Aún no se anotó nada: algo del formulario necesita otra mirada.",
	"page.problem.outcome_missing": "¿Cuál fue el resultado? Elija uno.", "page.problem.photos": "Como mucho {n} fotos van con una visita: quite algunas, o envíe las demás como otra visita.", "page.problem.reading": "Eso se lee como {value}, que ninguna secadora muestra. Mire otra vez la cifra y su unidad.",
	"page.record.after": "Dejado", "page.record.before": "Encontrado", "page.record.cancel": "Dejarlo como está", "page.record.correct": "Corregir el hallazgo de {date}", "page.record.go": "Anotar", "page.record.jump": "Anotar una visita",
	"page.record.standing": "Corregir ese hallazgo", "page.record.text": "Lo encontrado y lo hecho. Solo hacen falta el día y el resultado; una medida antes y otra después afinan la próxima fecha.", "page.record.title": "Anotar una visita", "page.record.work": "Hecho",
	"page.recorded": "Anotado: {outcome}, {date}.", "page.recorded.closed": "Hecho: {what}, pendiente para {date}.", "page.recorded.corrected": "Corregido: {outcome}, {date}.",
	"page.recorded.missing": "Sin confirmar todavía: {what}. Hágalo antes de irse y corrija después esta visita.", "page.recorded.next": "Próximo: {what} el {date}, {away}.",
	"page.run.cautions": "Antes de cualquier trabajo", "page.run.dryer": "La secadora", "page.run.due": "Qué toca y por qué", "page.run.ended": "Ya no se lleva desde {date}.", "page.run.faults": "Defectos", "page.run.nothing_due": "No hay nada pendiente en este conducto.",
	"page.run.route": "Cómo está hecho el conducto", "page.run.rules": "Qué se sigue de eso", "page.run.signs": "Lo que alguien notó", "page.run.sources": "De dónde son los límites",
	"page.scope.clear": "Mostrar todo", "page.scope.customer": "Solo el cliente", "page.scope.feed": "Crear un calendario de esto", "page.scope.site": "Solo el edificio",
	"page.search": "Buscar por edificio, puerta, cliente o dirección", "page.search.go": "Buscar",
	"page.section.later": "Más adelante", "page.section.overdue": "Atrasado", "page.section.soon": "Próximos 30 días", "page.section.stop": "No use estas secadoras",
	"page.sign.answered": "atendido", "page.sign.open": "aún sin atender",
	"page.signin.closed": "Todavía no hay ninguna cuenta, así que nadie puede entrar. Cree una donde corre el programa: ventdue account add NAME --role owner",
	"page.signin.go":     "Entrar", "page.signin.name": "Su nombre", "page.signin.name.hint": "Como se llama su cuenta. Con la contraseña de los ajustes déjelo vacío, o escriba un nombre que no tenga ninguna cuenta: queda junto a lo que usted anota.",
	"page.signin.password": "Contraseña", "page.signin.title": "Entrar", "page.signin.wait": "Demasiados intentos desde aquí. Espere {n} segundos y vuelva a intentarlo.", "page.signin.wrong": "El nombre y la contraseña no van juntos.",
	"page.signout": "Salir", "page.signout.everywhere": "Salir en todas partes", "page.signout.everywhere.text": "Cierra todas las sesiones en todos los dispositivos, también esta.", "page.skip": "Ir al contenido",
	"page.stop.more": "Mostrar todas las que no se deben usar", "page.stop.text": "Nadie usa la secadora hasta que una persona cualificada la libere: desenchúfela o corte su interruptor, y cierre la llave del gas.",
	"page.tell.call": "O llame a {operator}, {phone}.", "page.tell.label": "Para la etiqueta de la secadora", "page.tell.label.text": "Quien abre esta dirección dice lo que notó, sin cuenta. Imprímala en la etiqueta, o envíela a quien vive allí.",
	"page.tell.name": "Su nombre (puede quedar vacío)", "page.tell.note": "Algo más que convenga saber (puede quedar vacío)", "page.tell.others": "Otra cosa", "page.tell.thanks": "Anotado: {what}.", "page.tell.title": "¿Qué notó en la secadora?",
	"page.tell.urgent": "¿Hay peligro ahora?", "page.tell.wait": "Esto ya se dijo varias veces. Si ha cambiado, dígalo otra vez dentro de {n} segundos.", "page.tell.which": "Pulse lo que notó.",
	"page.trail.more": "y {n} líneas anteriores", "page.trail.show": "Mostrar", "page.trail.title": "Quién cambió qué",
	"page.untold": "No se puede avisar a {n} clientes: ningún contacto es localizable.", "page.untold.more": "y {n} más", "page.untold.no_contact": "no se conoce ningún contacto", "page.untold.one": "No se puede avisar a 1 cliente: ningún contacto es localizable.",
	"page.untold.remedy": "Deles un contacto con un correo que funcione en la próxima importación (contact_name, contact_email), o llámelos.",
}
