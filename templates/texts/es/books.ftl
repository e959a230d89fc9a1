# Lo que leen los técnicos de registros, productos y normas. Los mismos nombres están en los archivos de los otros idiomas.
record-title = Registro de aplicación
record-withdrawn = Retirado
record-needs-answer = Necesita respuesta de una persona con licencia
record-all-fields = Con todos los datos
record-complete = Completo
record-fields-missing = Faltan datos
record-amend = Enmendar
record-answered = Respondido
record-answered-as = Respondido: { $answer }
record-answered-by = { $name }, certificación { $number }, { $when }
record-not-answered = Sin responder
record-not-answered-words = Lo aplicado queda registrado; una persona con licencia dice qué sigue.
record-answer = Respuesta
record-answer-hint = Se guarda bajo su certificación.
record-answer-flag = Responder al aviso
record-applied = Lo que se aplicó
record-plant = Planta
record-product = Producto
record-amount = Cantidad
record-rate = Dosis
record-water = Agua
record-registration = N.º de reg. EPA
record-lot = lote
record-not-known = no se sabe
record-not-noted = sin anotar
record-against = contra { $pest }
record-plants = { $count } plantas
record-photos = Fotos
record-photos-coming = Todavía no están aquí
record-photos-phone = { $count } tomadas y todavía en el teléfono.
record-photo = Foto { $number } de { $all }
record-signatures = Firmas
record-unsigned = Sin firmar
record-unsigned-words = Lo firma quien hizo el trabajo y, si no tiene certificación del estado, la persona certificada que supervisó.
record-your-name = Su nombre
record-sign-hint = Usted firma que esto es lo que se hizo.
record-sign-supervisor-hint = Usted firma como aplicador que supervisa: que esto es lo que se hizo y que su estado permite hacerlo bajo supervisión.
record-sign = Firmar
record-signed = Firmado.
record-signed-by = { $name }, como { $capacity }
record-signed-number = , certificación { $number }
record-signed-at = , { $day } a las { $time }
record-signed-under = , bajo la versión { $version }
record-signed-misfit = { " " }(no concuerda con lo que dice ahora la versión)
record-capacity-applicator = aplicador
record-capacity-supervisor = aplicador que supervisa
record-clothing = Ropa de protección:
record-before = Lo que decía antes
record-version = Versión { $number }
record-written = Escrito por { $who }, { $when }
record-amended = Enmendado por { $who }, { $when }. Motivo: { $why }
record-changes = Cambios de la versión { $number }
record-what = Qué
record-was = Antes
record-since = Desde entonces
record-nothing = nada
record-proof = Prueba de que no se cambió
record-place = Lugar { $seq } en la cadena de todos los registros, suma de control
record-proof-save = Guardar la prueba de este registro
record-proof-words = , que dice cómo puede comprobarla cualquiera.
record-flag-version = { $title }, versión { $number }
record-overtaken = Superado por una enmienda
record-completeness = Si está completo
record-no-rule = Aquí no se conoce ninguna norma de este estado sobre registros
record-whole-for = según
record-missing = Falta
record-amend-it = Enmiende el registro
record-amend-words = con lo que se sabe.
record-outside = También se pide, y se guarda fuera del registro:
record-by = Registrar a más tardar
record-written-late = Escrito después
record-keep = Guardar al menos hasta
record-its-visit = Visita
record-visit-see = Ver la visita
record-by-rule = { $state } ({ $source }; { $mark })
record-day-by = { $day } según { $source } ({ $mark })
record-day-house = { $day }: ninguna norma conocida aquí fija un día; el nuestro es el mismo día
record-kept-also = { $law }; nosotros lo guardamos hasta el { $day }
record-kept = Lo guardamos hasta el { $day }
mark-checked = leída en su fuente
mark-part-checked = leída en parte
mark-unverified = sin verificar
record-part-counts = ¿Cuenta?
record-part-applied-on = Aplicado el
record-part-started = Comienzo
record-part-finished = Final
record-part-applied-by = Lo aplicó
record-part-applicator = Aplicador
record-part-supervisor = Aplicador que supervisa
record-part-customer = Cliente
record-part-customer-address = Dirección del cliente
record-part-site = Propiedad
record-part-county = Condado
record-part-wind = Viento desde
record-part-wind-speed = Velocidad del viento
record-part-temperature = Temperatura del aire
record-part-area = Superficie tratada
record-part-note = Nota
record-part-bloom = Floración vista
record-part-soil = Suelo
record-part-rain = Lluvia
record-part-nearest-water = Agua más cercana
record-part-well = Pozo más cercano
record-part-slope = Pendiente
record-part-ticket = Permiso de localización de servicios
record-part-told = Vecinos avisados
record-part-signs = Letreros puestos
record-part-beneficials = Insectos útiles vistos
record-part-pests = Plagas vistas
record-part-photos = Fotos
record-part-phone-finished = Terminado según el reloj del teléfono
record-part-phone-sent = Enviado según el reloj del teléfono
record-part-phone-clock = El reloj del teléfono iba
record-part-plant = planta
record-part-product = producto
record-part-method = método
record-part-pest = plaga
record-part-count = número de plantas
record-part-measure = medida
record-part-rate = dosis
record-part-amount = cantidad
record-part-water = agua
record-part-lot = lote
record-item-part = Partida { $number }, { $what }
record-counts-yes = sí
record-counts-no = no, se retiró
record-by-us = nuestra empresa
record-by-others = otra empresa
record-certified = { $name }, certificación { $number }
record-product-number = { $product }, N.º de reg. EPA { $number }
record-clock-ahead = adelantado { $seconds } segundos
record-clock-behind = atrasado { $seconds } segundos
record-bloom-none = ninguna
record-bloom-some = alguna
record-bloom-full = plena
record-soil-dry = seco
record-soil-moist = húmedo
record-soil-saturated = encharcado
record-soil-frozen = helado
record-rain-none = ninguna
record-rain-expected = se espera
record-rain-falling = está lloviendo
record-slope-flat = llana
record-slope-gentle = suave
record-slope-steep = fuerte
unit-cup = { $count ->
    [one] taza
   *[other] tazas
}
record-choose = Elija una opción
record-one-of-us = Uno de nosotros
record-other-company = Aplicador de otra empresa
record-certification-number = Número de certificación
record-supervisor-hint = Si el aplicador no tiene certificación del estado
record-item = Partida { $number }
record-other-ground = Otro terreno
record-other-ground-hint = Por ejemplo: césped de enfrente
record-use = Producto y uso
record-amount-of-product = Cantidad de producto
record-unit = Unidad
record-measure = Altura en pies o diámetro en pulgadas
record-count = Número de plantas
record-carrier-water = Agua de mezcla
record-water-unit = Unidad del agua
record-lot-number = Número de lote
record-leave-out = Quitar esta partida
record-more-items = Una partida más
record-weather = Hora y tiempo
record-why = Por qué
record-reason = Motivo de la enmienda
record-reason-hint = Lo que decía antes se puede seguir leyendo.
record-save = Guardar
record-save-version = Guardar como versión { $number }
record-withdraw = Retirar el registro
record-us = Nuestra empresa
record-them = Otra empresa
record-calm = En calma
record-retired = { $plant } (fuera de uso)
record-use-unsigned = { $use } (etiqueta sin firmar)
record-gone = Retirado; no cuenta en ningún lado y se puede seguir leyendo.
record-amended-so = Enmendado.
record-amended-broken = { $count ->
    [one] Enmendado. Se pasó un límite; una persona con licencia debe responder al aviso.
   *[other] Enmendado. Se pasaron { $count } límites; una persona con licencia debe responder a los avisos.
}

# La hoja de ruta y la hoja de carga
sheet-weekday-1 = lun
sheet-weekday-2 = mar
sheet-weekday-3 = mié
sheet-weekday-4 = jue
sheet-weekday-5 = vie
sheet-weekday-6 = sáb
sheet-weekday-7 = dom
sheet-head = Hoja de ruta
sheet-title = Hoja de ruta, { $name }, { $day }
sheet-load-title = Hoja de carga, { $name }, { $day }
sheet-stops = { $count ->
    [one] { $count } parada
   *[other] { $count } paradas
}
sheet-the-vehicle = Vehículo:
sheet-none-entered = no hay ninguno anotado
sheet-no-vehicle = no hay ningún vehículo anotado
sheet-vehicle = { $name }, tanque de { $tank } gal
sheet-opening = { $stops }. Vehículo: { $vehicle }.
sheet-print = PDF para imprimir
sheet-empty = Ninguna visita este día
sheet-empty-words = Aquí están las paradas del día en su orden cuando hay visitas reservadas. Ejemplo: 1, 09:30, 14 Tamber Lane.
sheet-see-visits = Ver las visitas
sheet-none-booked = Ninguna visita está reservada para este día.
sheet-sketch-of = Croquis del camino
sheet-way = El camino del día
sheet-sketch = Las paradas por número en su orden, con el norte arriba; el cuadrado es donde empieza el día, la línea discontinua la vuelta.
sheet-sketch-no-start = Las paradas por número en su orden, con el norte arriba; no se sabe dónde empieza el día.
sheet-sketch-lacking = Sin posición conocida y sin dibujar: { $stops }.
sheet-numbers = Números: las paradas en su orden.
sheet-square = Cuadrado: donde empieza el día. Línea discontinua: la vuelta.
sheet-no-square = No se sabe dónde empieza el día.
sheet-lines = Las líneas muestran el orden, no las calles.
sheet-the-stops = Paradas
sheet-stop = N.º
sheet-when = Cuándo y dónde
sheet-plants = Plantas, dosis y agua
sheet-page = Página de la visita
sheet-no-hour = Sin hora prevista
sheet-promised = prometida al cliente
sheet-access = Entrada
sheet-laws = Avisos y letreros por ley
sheet-law = Ley
sheet-law-done = hecho
sheet-law-excused = no se pide, según el dueño
sheet-law-open = pendiente
sheet-law-late = PENDIENTE: se hizo tarde, no empiece antes del { $from }
sheet-law-hold = PENDIENTE: no empiece antes de que esté hecho
sheet-tell = Avisar a los vecinos
sheet-told = { $count ->
    [one] Al menos { $count } hora antes: { $reason }
   *[other] Al menos { $count } horas antes: { $reason }
}
sheet-water-here = en la propiedad
sheet-water-unknown = distancia desconocida: búsquela antes de verter
sheet-waiting = Espera otro día: { $reason }
sheet-done = Hecha
sheet-cancelled = Cancelada
sheet-booked = Reservada
sheet-code = Abre la página de esta visita
sheet-dose = { $amount } de { $product }
sheet-no-water = sin agua indicada
sheet-load = Hoja de carga
sheet-truck = Lo que va en el vehículo
sheet-needed = Necesario
sheet-carried = A llevar
sheet-water-carried = Agua a llevar
sheet-tank = Tanque
sheet-none-stated = sin indicar
sheet-not-worked-out = sin calcular
sheet-reserve = Lo necesario es la suma exacta de las dosis previstas. A llevar es eso y un { $percent } por ciento de reserva, redondeado hacia arriba; lo que se vierte sigue siendo la dosis de cada planta.
sheet-no-tanks = No hay ningún vehículo anotado, así que no se pueden calcular las cargas del tanque.
sheet-tanks = { $count ->
    [one] { $said } tanque de { $holds }: { $filled }
   *[other] { $said } tanques de { $holds }: { $filled }
}
sheet-tank-all = todo en un tanque
sheet-tank-full = { $amount } en uno lleno
sheet-tank-full-from = { $least } en uno lleno con el mínimo de agua, { $most } con el máximo
sheet-clothing = Ropa de protección y precauciones
sheet-first-aid = Primeros auxilios:
sheet-folio = Página { $page } de { $of }

# Listas
list-narrow = Acotar la lista
list-show = Mostrar
list-earlier = Página anterior
state-of = Situación

# Productos
product-lead = Lo que se aplica, dónde está registrado y qué versión de la etiqueta está vigente.
product-state-rules = Las normas de los estados
product-state-rules-say = dicen qué se puede usar y dónde.
product-search = Nombre o número de registro
product-none = Todavía no hay productos
product-none-words = La oficina anota los productos y sus etiquetas.
product-none-fits = Ningún producto coincide
product-none-fits-words = Pruebe con una parte más corta del nombre o del número de registro, o muestre también los retirados.
product-by-name = Productos por nombre
product-number = N.º de reg.
product-form = Forma
product-registration = Registro estatal
product-none-entered = Ninguno anotado
product-form-liquid = líquido
product-form-dry = seco
product-form-packet = sobre
product-form-tablet = pastilla
product-kind-liquid = líquido
product-kind-dry = seco
product-kind-packet = en sobres
product-kind-tablet = en pastillas
product-in-use = En uso
product-retired-too = También los retirados
product-retired = Retirado
product-in-force = Versión { $number } vigente
product-draft-waits = Versión { $number } vigente, hay un borrador en espera
product-not-signed = Aún sin firmar
product-no-label = Sin etiqueta anotada
product-expired = Venció el { $day }
product-last-day = Hoy es el último día, { $day }
product-until = Hasta el { $day }
product-only-from = Solo desde el { $day }
product-since = desde el { $day }
product-price = { $price } por 1 { $unit }
product-costs = Cuesta { $price }.
product-aside = Registros y uso
product-registered-in = Registrado en
product-no-state = Ningún estado anotado todavía.

# Archivos de una etiqueta
document-label = Etiqueta
document-safety-data-sheet = Hoja de seguridad
document-replaced = sustituida
document-hash = SHA-256 empieza por
document-none-sheet = Ninguna todavía. Se trae en la página de una versión de la etiqueta.
document-none = Ninguno todavía. Los teléfonos guardan la etiqueta y la hoja de seguridad del producto para donde no hay señal.

# Una etiqueta
label-version = versión { $number } de la etiqueta
label-versions = Versiones de la etiqueta
label-none-signed = Todavía no hay etiqueta firmada: no se puede prever nada con este producto.
label-newest-first = Primero la más nueva
label-version-head = Versión
label-date = Fecha de la etiqueta
label-signed = Firmada por
label-not-yet = Todavía no
label-is-law = Las fichas de las etiquetas son datos que coteja una persona con licencia. La propia etiqueta es la ley, y las normas locales se suman a ella.
label-state-draft = Borrador, sin firmar
label-state-in-force = Firmada, vigente
label-state-replaced = Firmada, sustituida
label-of = Etiqueta del
label-clothing = Ropa de protección
label-precautions = Precauciones
label-not-entered = Sin anotar.
label-none-entered = Nada anotado.
label-not-stated = Sin indicar
label-uses = Usos
label-method = Método
label-hosts = Plantas huésped
label-pests = Plagas
label-protects = Protege durante
label-uptake = Absorción
label-days = { $days } días
label-limits = Límites
label-ingredients = Ingredientes activos
label-ingredient = Ingrediente
label-group = Grupo IRAC
label-strength = Concentración
label-caps = Límites anuales
label-no-caps = Ninguno anotado: esta versión no fija una cantidad límite para el año.
label-cap-counts = Cuenta
label-cap-most = Como máximo
label-cap-in = En
label-times = Veces al año
label-at-most = como máximo { $times } en 12 meses cualesquiera
label-aside = Firma y categoría
label-signature = Firma
label-compared = la cotejó con la etiqueta en mano y firmó el { $day }, certificación
label-stays = Queda como está.
label-not-whole = Aún incompleta
label-needs = Antes de firmarla le falta:
label-cannot-sign = Usted no puede firmarla
label-i-compared = He cotejado esta ficha con la etiqueta en mano
label-every-line = Cada línea: dosis, límites, ropa, precauciones. Después no cambia nada.
label-sign = Firmar la versión { $number }
label-and-sheet = Etiqueta y hoja de seguridad
label-about = Sobre ella
label-signal-word = Palabra de advertencia
label-none = Ninguna
label-restricted = Restringida
label-restricted-use = Producto de uso restringido
label-no = No, de uso general
label-excluded = Excluidas
label-no-host = Ninguna planta
label-entered = Anotada
label-one-tablet = Una pastilla
label-one-packet = Un sobre
label-density = Densidad
label-product-itself = { $product }, el propio producto
label-limit-interval = Al menos { $days } días entre aplicaciones
label-limit-span = del { $from } al { $to }
label-limit-only = Solo { $spans }
label-limit-bloom = No mientras la planta está en flor
label-limit-food = Abarca plantas comestibles con fruto
label-limit-no-food = No abarca plantas comestibles con fruto
label-limit-group = No en una planta que tuvo antes el mismo modo de acción

# Normas de los estados
rule-title = Normas de los estados
rule-lead = Lo que piden los estados antes de usar un ingrediente en plantas ornamentales. Un estado que no está en la lista no tiene norma aquí, lo cual no es lo mismo que no tener ninguna.
rule-caution = Deciden la etiqueta y la norma vigente; responde una persona con licencia. Las normas marcadas sin verificar no se leyeron en su fuente: advierten y no prohíben nada hasta que responda una persona con licencia. Las leídas prohíben, y solo una exención para un terreno las limita.
rule-every-state = Todos los estados
rule-none = No hay ninguna norma anotada de este estado
rule-none-words = Lea las normas del propio estado antes de prever trabajo allí. En la lista de arriba está cada estado con alguna norma. Ejemplo: Vermont, todas las plantas, ningún uso salvo con una exención.
rule-see-every = Ver todos los estados
rule-of-state = Normas de este estado
rule-by-state = Todas las normas, por estado
rule-where = Dónde
rule-ingredients = Ingredientes
rule-speaks = De qué habla
rule-speaks-short = Habla de
rule-what-asks = Qué pide
rule-asks = Pide
rule-days = En vigor
rule-source = Fuente
rule-verified-here = Verificada aquí
rule-set-aside-here = Apartada aquí
rule-checked = Leída en su fuente
rule-part-checked = Leída en parte
rule-unverified = Sin verificar
rule-every-method = todos los métodos
rule-in-force = en vigor; no se conoce su primer día
rule-from = desde el { $from }
rule-until = hasta el { $until }
rule-from-until = del { $from } al { $until }
rule-the = La norma
rule-land = Terreno
rule-methods = Métodos
rule-every = Todas las normas
rule-answers = Respuestas
rule-no-answer-open = Ninguna. Hasta que responda una persona con licencia, esta norma advierte y no prohíbe nada.
rule-no-answer = Ninguna. Esta norma se leyó en su fuente; no necesita respuesta.
rule-answers-caption = Respuestas, primero la más nueva; cuenta la más nueva
rule-answered = Respondida
rule-answered-by = Por
rule-holds = Rige
rule-set-aside = Apartada
rule-taken-back = Retirada: otra vez sin verificar
rule-read-on = leída el
rule-answer-this = Responder a esta norma
rule-answer-it = Responder
rule-who-answers = Solo responde alguien con una certificación vigente. La respuesta se guarda con nombre y día.
rule-found = ¿Qué encontró?
rule-find-holds = Rige: la leí en su fuente
rule-find-set-aside = Aquí no rige
rule-find-open = Ni una cosa ni otra: retirar la respuesta, queda otra vez sin verificar
rule-citation = Dónde está escrita
rule-citation-hint = Si rige: sección y título, como los imprime el estado
rule-verified-on = Leída el
rule-if-holds = Si rige
rule-reason = Motivo
rule-reason-hint = Si no rige, o si se retira la respuesta
rule-do-answer = Responder
rule-cannot = No se puede apartar
rule-cannot-words = Se leyó en su fuente. Solo la limita una exención que una autoridad concede para un terreno: anótela en la propiedad, en Exenciones de este terreno.

# Plagas de las listas de los estados
pest-title = Plagas de las listas de los estados
pest-lead = Algunos estados prohíben un ingrediente salvo contra plagas de una lista propia. Una planta cuya plaga está aquí se permite entonces a un aplicador certificado.
pest-rules = Las normas de los estados
pest-none = Ninguna anotada. El programa no trae ninguna lista: lea la del estado y anote de ella. Ejemplo: Maine, hemlock woolly adelgid, la lista del estado de plagas invasoras emergentes de invertebrados.
pest-by-state = Plagas de las listas, por estado
pest-pest = Plaga
pest-read = Lectura
pest-entered-by = La anotó
pest-take-off = Quitar { $pest }
pest-enter = Anotar una plaga
pest-who = Solo la anota alguien con una certificación vigente.
pest-hint = Su nombre común, como lo llevan sus plantas
pest-state-hint = Dos letras
pest-printed = Dónde está impresa la lista
pest-how-far = ¿Hasta dónde se leyó?
pest-enter-it = Anotar la plaga
pest-checked = Leída en la propia lista del estado
pest-part-checked = Leída en parte: en un resumen de ella
pest-unverified = Sin verificar: aún no leída; no abre nada
pest-opens-nothing = Sin verificar: no abre nada

# La hoja de un letrero
sign-size = Tamaño
product-days-left = { $count ->
    [one] Queda 1 día, hasta el { $day }
   *[other] Quedan { $count } días, hasta el { $day }
}
product-plants = { $count ->
    [0] Ninguna planta está prevista para recibirlo.
    [one] 1 registro de planta está previsto para recibirlo.
   *[other] { $count } registros de plantas están previstos para recibirlo.
}
label-limit-times = { $count ->
    [one] Una vez al año
   *[other] { $count } veces al año
}
label-limit-bloom-lead = { $count ->
    [one] No mientras la planta está en flor, ni en el día anterior
   *[other] No mientras la planta está en flor, ni en los { $count } días anteriores
}
label-limit-harvest = { $count ->
    [one] Abarca plantas comestibles con fruto, a más tardar 1 día antes de la cosecha
   *[other] Abarca plantas comestibles con fruto, a más tardar { $count } días antes de la cosecha
}
label-limit-rest = { $count ->
    [one] Después, ningún uso foliar del grupo 4 durante 1 día
   *[other] Después, ningún uso foliar del grupo 4 durante { $count } días
}
label-to-one-plant = { $count ->
    [one] 1 aplicación a una planta
   *[other] { $count } aplicaciones a una planta
}
