# Lo que leen los clientes: el correo y su propia página. Los mismos nombres están en los archivos de los otros idiomas.
mail-dear = Hola, { $name }:
mail-subject-due = Sus plantas en { $street }: próxima aplicación el { $day }
mail-subject-lapsed = Sus plantas en { $street }: la protección terminó el { $day }
mail-open-due = La protección de estas plantas en { $street } está por terminar. La próxima aplicación toca el { $day }:
mail-open-lapsed = La protección de estas plantas en { $street } terminó el { $day }:
mail-plant = { $plant } ({ $count }): { $product } el { $applied }, protegida hasta el { $until }
mail-plant-pest = { $plant } ({ $count }): { $product } el { $applied } contra { $pest }, protegida hasta el { $until }
mail-price = Precio de la próxima aplicación: { $price }
mail-otherwise-due = Sin ella, la primera queda sin protección desde el { $day } y la plaga puede volver. La planta necesita tiempo para absorber el producto; por eso la fecha es anterior.
mail-otherwise-lapsed = Desde el { $day } la plaga puede volver sin obstáculo. La planta necesita tiempo para absorber el producto; la protección empieza un tiempo después de la aplicación.
mail-answer-here = Diga que sí, elija otro día o diga que no en su propia página. No hace falta contraseña:
mail-cautions = Para su seguridad, las etiquetas dicen:
mail-offer-from = Esta es una oferta de { $company }, { $address }, { $phone }.
mail-from = { $company }, { $address }, tel. { $phone }.
mail-license = Licencia { $number }.
mail-no-offers = No recibir más ofertas por correo: { $link } Los avisos que exige la ley siguen llegando.
