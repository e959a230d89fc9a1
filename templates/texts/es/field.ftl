# Lo que leen los técnicos. Los mismos nombres están en los archivos de los otros idiomas.
skip-to-main = Ir al contenido
sign-out = Cerrar sesión
foot = Deciden la etiqueta y las normas locales; responde una persona con licencia.
main-navigation = Principal
nav-visits = Mis visitas
nav-products = Productos
nav-account = Mi cuenta
role-technician = técnico
to-phone-page = La página para este teléfono, también sin señal
record-this = Registrar esta visita
booked-later = Está prevista para un día posterior y se registra ese día.
done-already = Ya se hizo
visits-none = No hay nada
visits-none-words = Aquí aparecen sus visitas, primero las de hoy, cuando la oficina las haya reservado.
today = Hoy
not-recorded = Sin registrar todavía
coming = Próximas
done-or-cancelled = Hechas o canceladas
done-and-cancelled = Hechas y canceladas
what-is-booked = Lo reservado
cancelled = cancelada
next-page = Página siguiente
pages = Páginas
plants = { $count ->
    [one] { $count } planta
   *[other] { $count } plantas
}
language = Idioma
language-choose = Mostrar las páginas de campo en
language-save = Guardar el idioma
date = { $day } { $month } { $year }
month-1 = ene
month-2 = feb
month-3 = mar
month-4 = abr
month-5 = may
month-6 = jun
month-7 = jul
month-8 = ago
month-9 = sep
month-10 = oct
month-11 = nov
month-12 = dic
language-saved = El idioma está guardado.
name = Nombre
role = Función
certifications = Certificaciones
certifications-none = No hay ninguna. Las registra el dueño.
certifications-caption = Certificaciones, primero la que dura más
category = Categoría
state = Estado
number = Número
from = Desde
last-day = Último día
sessions = Sesiones
sessions-words = ¿Perdió un teléfono? Esto cierra todas sus sesiones, también en este aparato.
sessions-end = Cerrar todas las sesiones
booked-for = Está prevista para un día posterior:
ask-to-move = Pida a la oficina que la cambie si la hace otro día.
which-day = ¿Ya se hizo? Escriba abajo qué día.
check-first = Aún sin registrar: revise la dosis
what-done = ¿Qué se hizo?
measured = Medido
check-dose = Revise la dosis
product-applied = Producto aplicado
product-hint = Déjelo vacío tras una medida nueva: se calcula la dosis para que la revise.
cups-unit = tazas
why-not-hint = Por ejemplo: en flor, suelo encharcado, portón cerrado
caps-left-booked = Queda de los límites anuales, sin lo reservado:
day = Día
no-certification = Ese día no hay aquí certificación vigente.
record-visit = Registrar la visita
record-dose = Registrar con esta dosis
back-unsaved = Volver sin guardar
record-of = Registro, { $street }
product-together = Para todas las plantas de este registro juntas.
route-sheet-today = Hoja de ruta de hoy
waits-for-day = Espera otro día:
do-not-go = No vaya: espera otro día.
stop = parada
as-it-is = cada planta como está
rate-per = { $amount } por { $what }
cap-left-of-product = { $name }: quedan { $left }, { $amount } de { $product }
each-of = { $amount } para cada una de las { $count }
counted-shrub = { $count ->
    [one] 1 arbusto
   *[other] { $count } arbustos
}
counted-hedge = { $count ->
    [one] 1 seto
   *[other] seto de { $count }
}
counted-tree = { $count ->
    [one] 1 árbol
   *[other] { $count } árboles
}
counted-palm = { $count ->
    [one] 1 palmera
   *[other] { $count } palmeras
}
dose-applied = Aplicada
dose-skipped = No hecha: { $reason }
dose-released = Liberada
dose-planned = Prevista
of-product-line = de { $product }, { $method }
water-beside = agua { $said }
in-all = En total
load-with-water = { $product } de producto, { $water } de agua.
load-without-water = { $product } de producto; la etiqueta no indica agua.
cup-shows = { $cup }: { $each }
cup-in-all = { $each } para cada una, { $all } en total
cup-fillings = { $said }, llenado { $times } veces
tank-loads = { $count ->
    [one] { $tank } ({ $holds }): { $said } carga, con { $product }.
   *[other] { $tank } ({ $holds }): { $said } cargas, cada una con { $product }.
}
tank-more-or-less = { $most } con el mínimo de agua, { $least } con el máximo
asked-started = Comienzo
asked-finished = Final
asked-wind = Viento desde
asked-wind-speed = Velocidad del viento
asked-temperature = Temperatura del aire
asked-water = Agua usada
asked-by = { $what }, lo pide { $state } ({ $source })
offer-dose = Medido { $measured }, previsto para { $planned }: a { $rate } son { $dose }; el margen de la etiqueta da de { $low } a { $high }.
offer-none = Medido { $measured }, previsto para { $planned }: a { $rate } no hay dosis: { $why } Escriba cuánto se usó.
offer-warning = Advertencia: { $words }
errors-title = Todavía sin guardar. Corrija primero esto:
open-it = Abrirlo
recorded = Registrado.
recorded-broken = { $count ->
    [one] Registrado. Se pasó un límite; una persona con licencia debe responder al aviso.
   *[other] Registrado. Se pasaron { $count } límites; una persona con licencia debe responder a los avisos.
}
write-amount = Escriba cuánto producto se aplicó.
choose-done = Elija qué se hizo: { $plant }.
band-left = { $amount } está fuera del margen de la etiqueta, de { $low } a { $high } para lo medido. Lea otra vez la etiqueta. Si de verdad se vertió { $amount }, envíelo otra vez y se registra como fue; si no, corrija la cantidad.
day-unlikely = La visita está prevista para el { $booked } y el día escrito es el { $written }. Si de verdad se hizo el { $written }, envíelo otra vez; si no, corrija el día.
measure-plant = Medir una planta
measure-save = Guardar la medida
measure-saved = La medida está guardada.
back-without = Volver sin guardar nada
measure-height = Altura
measure-height-hint = Arbustos, setos, muchos troncos delgados
measure-trunk = Diámetro del tronco
measure-trunk-hint = A 4.5 pies; varios troncos: 5, 6, 8
measure-girth = Contorno del tronco
measure-girth-hint = En vez del diámetro: la cinta alrededor del tronco a 4.5 pies
stems-count-as = Varios troncos cuentan como
stems-hint = Quien lo guarda responde de ello.
stems-sum = Todos los diámetros sumados
stems-quadratic = Un tronco de la misma sección (raíz de la suma de los cuadrados)
stems-largest = El mayor y la mitad de los demás
measure-ground = Superficie tratada
measure-ground-hint = Para un uso cuya dosis va por superficie
measure-ground-unit = Unidad de la superficie
unit-sqft = pies cuadrados
unit-acre = acres de superficie
unit-m2 = metros cuadrados
optional = (opcional)
email = Correo electrónico
password = Contraseña
no-password = ¿No tiene contraseña o la perdió? El dueño puede enviarle un enlace.
sign-in-wrong = El correo y la contraseña no van juntos.
sign-in-pause = Demasiados intentos. Espere un cuarto de hora y pruebe otra vez.
form-fill-in = Rellene esto, por favor.
form-choose = Elija una de estas opciones, por favor.
form-unseen = Aquí hay un carácter que no se puede mostrar.
form-number = Esto no es un número; escriba por ejemplo 8 o 2.5.
form-above-zero = Tiene que ser más que cero.
form-zero-or-more = Tiene que ser cero o más.
form-range = Este número no es posible.
form-date = Esto no es una fecha; escríbala como 2026-05-15.
form-date-range = Esta fecha no es posible.
stop-time = Esto no es una hora; escríbala como 14:30.
stop-temperature = Esto no es una temperatura; escriba por ejemplo 68.
stop-temperature-range = Esta temperatura no es posible.
sign-sheet = Hoja del letrero
sign-sheet-words = Imprímala, una hoja por cada norma. Las palabras cuyo tamaño fija la norma lo tienen en el papel; el símbolo, el material y lo demás los dice la norma.
duty-title = Avisos y letreros que exige la ley
duty-do-not-begin = No empiece antes de que esto esté hecho
duty-neighbours = Avisar antes a los vecinos
duty-registry = Avisar a quien está en el registro o lo pidió
duty-customer = Avisar antes al cliente
duty-statement = Dar después una constancia al cliente
duty-sign = Poner letreros
duty-done = Hecho
duty-holds = Detiene la visita
duty-open = Pendiente
duty-by = A más tardar el { $day }.
duty-late = Se hizo demasiado tarde: el trabajo no puede empezar antes del { $day }, o la visita pasa a otro día y se hace de nuevo.
duty-live-rule = Vale la regla vigente.
duty-unverified = nadie la ha verificado aún
duty-on-phone = Los vecinos y letreros que marque abajo se guardan con el registro. Lo demás se anota con señal:
duty-visit-page = la página de la visita
