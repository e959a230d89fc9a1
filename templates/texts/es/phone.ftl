# Lo que dice la página del teléfono. Los mismos nombres están en los archivos de los otros idiomas.
# La página llena los valores entre llaves.
loading = Se preparan las visitas.
no-script = Esta página necesita script. Sus visitas también están en una página sin él:
nav-outbox = Enviado y pendiente
sign-in = Iniciar sesión
signed-out = Sesión cerrada
signed-out-words = Inicie sesión para ver sus visitas en este teléfono.
signed-out-held = { $count ->
    [one] Un trabajo terminado sigue bajo llave en este teléfono. Inicie sesión la persona que lo hizo y se enviará.
   *[other] { $count } trabajos terminados siguen bajo llave en este teléfono. Inicie sesión la persona que los hizo y se enviarán.
}
standing-none = Todo está aceptado.
standing-waiting = { $count ->
    [0] Ningún trabajo espera.
    [one] 1 trabajo está en este teléfono, aún sin aceptar.
   *[other] { $count } trabajos están en este teléfono, aún sin aceptar.
}
standing-photos = { $count ->
    [one] 1 foto espera.
   *[other] { $count } fotos esperan.
}
standing-refused = { $count ->
    [one] 1 lo necesita a usted.
   *[other] { $count } lo necesitan a usted.
}
heard-at = Último contacto { $at }.
silent-since = Sin contacto ahora; el último fue a las { $at }.
state-waiting = En este teléfono
state-sent = Enviado, aún sin respuesta
state-accepted = Aceptado
state-refused = No aceptado: revíselo
state-done = Hecho
state-begun = Empezado
gone-somebody-else = Otra persona hace ahora esta visita.
gone-cancelled = Esta visita está cancelada.
gone-done = Esta visita ya está registrada.
gone-later = Esta visita se pasó a un día posterior.
gone-words = Usted la empezó aquí. Si se hizo trabajo, termínela: lo hecho se guarda en todo caso.
record-left = { $count ->
    [0] El registro vence hoy, { $day }.
    [one] El registro vence el { $day }: queda 1 día.
   *[other] El registro vence el { $day }: quedan { $count } días.
}
record-late = { $count ->
    [one] El registro venció el { $day }, hace 1 día.
   *[other] El registro venció el { $day }, hace { $count } días.
}
record-rule = Lo pide { $source }.
record-rule-unverified = Lo pide { $source }; nadie lo ha verificado aún.
record-rule-own = Ninguna norma conocida aquí fija un día; la nuestra es el mismo día.
to-sign = Registros por firmar
way-in = Entrada:
hours = Horario
hours-none = cualquier hora de trabajo; no hay horas anotadas
water = Agua
water-unknown = no se sabe: mire antes de verter
feet-away = a { $feet } pies
label-line = N.º de reg. EPA { $number }, versión { $version } de la etiqueta
label-unsigned = Esta etiqueta no está firmada
restricted-use = uso restringido
wear = Póngase:
precautions = Precauciones:
first-aid = Primeros auxilios
papers-here = { $count ->
    [one] { $here } de 1 etiqueta u hoja de seguridad está en este teléfono.
   *[other] { $here } de { $count } etiquetas y hojas de seguridad están en este teléfono.
}
paper-label = Etiqueta, PDF de { $size }
paper-safety-data-sheet = Hoja de seguridad, PDF de { $size }
paper-coming-label = La etiqueta en PDF ({ $size }) aún no está en este teléfono. Llega sola mientras haya señal.
paper-coming-safety-data-sheet = La hoja de seguridad ({ $size }) aún no está en este teléfono. Llega sola mientras haya señal.
paper-none-label = La oficina no ha traído el PDF de esta etiqueta.
paper-none-safety-data-sheet = La oficina no ha traído la hoja de seguridad.
emergency = En una emergencia
emergency-place = Ayuda médica
poison-centre = Centro de toxicología
none-entered = sin anotar; la oficina lo anota
neighbours = Vecinos
notice-hours = { $count ->
    [one] Hay que avisar 1 hora antes del trabajo.
   *[other] Hay que avisar { $count } horas antes del trabajo.
}
neighbour-who = Vecino, por nombre o casa
neighbour-told = Avisado ahora mismo
told-at = { $who }, avisado a las { $at }
take-back = Quitar: { $what }
signs = Letreros puestos
found-here = Antes de empezar
ticket-first = Aquí se inyecta en el suelo: tenga primero el permiso de localización de servicios enterrados.
utility_ticket = Permiso de localización de servicios
utility-hint = El número del permiso
begin-clear = He mirado: sin flores, suelo húmedo, sin lluvia. Empezar
begin-other = Empezar; encontré otra cosa
begun-at = Empezado a las { $at }
found-more = Lo que encontré aquí
not-confirmed = Sin confirmar
bloom = Floración
bloom-none = Sin flores
bloom-some = Algunas flores
bloom-full = En plena flor
soil = Suelo
soil-dry = Seco
soil-moist = Húmedo
soil-saturated = Encharcado
soil-frozen = Helado
soil-stops = Lea la etiqueta antes de verter en este suelo y pregunte si tiene dudas.
rain = Lluvia
rain-none = Ninguna, ni se espera
rain-expected = Se espera pronto
rain-falling = Está lloviendo
slope = Pendiente
slope-flat = Llano
slope-gentle = Suave
slope-steep = Fuerte
water_distance_ft = Hasta el agua más cercana
well_distance_ft = Hasta el pozo más cercano
in-feet = En pies
plants-title = Plantas
plant-about = { $count ->
    [one] 1 planta de { $said }
   *[other] { $count } plantas de { $said } cada una
}
against = ; contra { $pest }
of-product = de { $product }, { $method }
method-basal-drench = riego en la base
method-soil-drench = riego del suelo
method-soil-injection = inyección en el suelo
method-trunk-injection = inyección en el tronco
method-trunk-spray = rociado del tronco
method-foliar-spray = rociado de las hojas
method-broadcast = al voleo
water-words = Agua: { $said }
rounded-down = { $amount } (redondeado hacia abajo)
from-to = { $low } a { $high }
cups = { $count ->
    [one] { $said } taza
   *[other] { $said } tazas
}
gallons = { $count ->
    [one] { $said } galón
   *[other] { $said } galones
}
cap-left = El límite deja aquí { $left }, a las { $at }.
over-cap = Más de lo que permite el límite: quedan { $left }, a las { $at }. No lo vierta; pregunte a la oficina.
outside-band = Fuera del margen de la etiqueta, de { $low } a { $high } { $unit } por { $per }. Lea otra vez la etiqueta.
caps-left = Lo que queda de los límites anuales
cap-of = { $name }: quedan { $left }
cap-unchecked = { $name }: no se puede comprobar, no se conoce la superficie
cap-unconfirmed = El uso anterior no está confirmado.
did-planned = Hecho como estaba previsto
did-measured = Hecho, con otra medida o cantidad
did-skipped = No hecho
height = Altura medida
girth = Contorno medido
ground = Superficie medida
thousand-sqft = mil pies cuadrados
acres = acres de tierra
one-plant = planta
poured-pieces = Para todas las plantas de este registro juntas
packet = { $count ->
    [one] sobre
   *[other] sobres
}
tablet = { $count ->
    [one] pastilla
   *[other] pastillas
}
diameter = Diámetro medido
measure-planned = Previsto con { $said }
new-dose = La dosis para esta medida:
poured-instead = Producto vertido
poured-hint = Déjelo vacío si vertió la dosis de arriba
water-poured = Agua vertida
water-poured-asked = Agua vertida, la pide una norma del estado
in-cups = En tazas
why-not = Por qué no
reason-bloom = En flor
reason-wet = Suelo demasiado mojado
reason-gate = Sin entrada
reason-gone = La planta ya no está
the-stop = La parada
lot-of = Número de lote del envase de { $product }
asked-by-rule = { $what }, lo pide una norma del estado
started_at = Inicio
finished_at = Fin
finished-hint = Vacío: cuando termine abajo
wind_direction = Viento del
not-noted = Sin anotar
wind-calm = en calma
wind-N = norte
wind-NE = noreste
wind-E = este
wind-SE = sureste
wind-S = sur
wind-SW = suroeste
wind-W = oeste
wind-NW = noroeste
wind_mph = Viento, millas por hora
temperature_f = Temperatura en °F
supervisor = Aplicador que supervisa
supervisor-hint = Usted no tiene aquí certificación ese día.
nobody = Nadie
stop-more = Horas, lo que vive aquí, nota
beneficials = Insectos útiles vistos
pests = Plagas y enfermedades vistas
note = Nota
photo-take = Tomar una foto
photo-hint = Se reduce aquí y se envía después, sin el lugar donde se tomó
photo-unreadable = Esta imagen no se puede leer. Tome otra.
photo = Foto { $number }
finish-as = Firmar como { $name } y terminar
finish-words = Su nombre bajo el registro confirma que esto es lo que se hizo. Se envía en cuanto haya señal.
finish-anyway = Terminar sin eso
not-finished = Aún sin terminar
rule-wants = Una norma del estado pide anotar esto
not-answered = diga qué se hizo
say-why = diga por qué no
not-a-number = escriba un número, por ejemplo 4.5
not-a-measure = escriba lo que midió, por ejemplo 8.5
not-here = Esta visita no está en este teléfono
finished-here = Terminado; vea enviado y pendiente
outbox-none = Nada aquí
outbox-none-words = Las visitas terminadas están aquí hasta que el servidor las acepta. Ejemplo: 14 Tamber Lane, en este teléfono.
outbox-words = En este teléfono: aún sin enviar. Enviado: en camino. Aceptado: el servidor lo tiene. Nada se pierde al cerrar la página.
locked = Bajo llave
locked-words = Trabajo sin enviar de otra persona. Se abre cuando ella inicia sesión en este teléfono o cuando la dueña o el dueño lo abre aquí.
locked-open = Abrirlo como dueña o dueño
tried = { $count ->
    [one] Intentado una vez; otra vez a las { $at }.
   *[other] Intentado { $count } veces; otra vez a las { $at }.
}
kept-words = El servidor lo guarda como se envió; la oficina lo lee y registra la visita.
see-record = Ver el registro
seen = Lo he visto
try-again = Enviarlo otra vez
photos-waiting = { $count ->
    [one] 1 foto está en este teléfono
   *[other] { $count } fotos están en este teléfono
}
photos-refused = { $count ->
    [one] 1 foto no se aceptó; avise a la oficina
   *[other] { $count } fotos no se aceptaron; avise a la oficina
}
note-limit-broken = Se pasó un límite.
do-limit-broken = Nada que hacer en el teléfono: responde una persona con licencia.
note-visit-reassigned = La visita se había dado a otra persona.
do-visit-reassigned = Lo que usted hizo está registrado. Avísele que ya está hecho.
note-visit-cancelled = La visita se había cancelado.
do-visit-cancelled = Lo que usted hizo está registrado. Avise a la oficina.
note-recorded-twice = La visita ya tiene otro registro.
do-recorded-twice = Se guardan los dos. Avise a la oficina si se hizo una sola vez.
note-label-replaced = La etiqueta cambió desde que su teléfono la recibió.
do-label-replaced = La revisa una persona con licencia. Lea la etiqueta nueva antes de la próxima parada.
note-missing-field = Falta algo.
do-missing-field = Avise a la oficina o corrija el registro.
note-unsigned = No está firmado.
do-unsigned = Fírmelo en la página del registro.
note-clock = El reloj del teléfono no va bien.
do-clock = Ponga en hora el teléfono.
note-visit-unknown = El servidor no conoce esta visita como suya.
do-visit-unknown = Diga a la oficina qué visita fue.
note-unreadable = El servidor no puede leer una parte.
do-unreadable = Se guarda como se envió; la oficina lo lee.
note-key-used = El servidor ya tiene este trabajo, con otro contenido.
do-key-used = Mire el registro. Si no está, envíelo otra vez.
note-refused = El servidor no lo tomó.
do-refused = Envíelo otra vez o avise a la oficina. Se queda aquí.
