# What customers read: mail and their own page. The same names stand in the other languages' files.
mail-dear = Dear { $name },
mail-subject-due = Your plants at { $street }: next treatment due { $day }
mail-subject-lapsed = Your plants at { $street }: protection ended { $day }
mail-open-due = The protection of these plants at { $street } is coming to its end. Their next treatment is due on { $day }:
mail-open-lapsed = The protection of these plants at { $street } ended on { $day }:
mail-plant = { $plant } ({ $count }): { $product } on { $applied }, protected until { $until }
mail-plant-pest = { $plant } ({ $count }): { $product } on { $applied } against { $pest }, protected until { $until }
mail-price = Price of the next treatment: { $price }
mail-otherwise-due = Without it the first of them stands unprotected from { $day } on, and what lives on it can come back. A plant needs time to take a product up, which is why the day lies before that.
mail-otherwise-lapsed = Since { $day } what lives on them can come back unhindered. A plant needs time to take a product up, so that protection begins some time after a treatment.
mail-answer-here = Say yes, choose another day or say no on your own page. No password is needed:
mail-cautions = For your safety the labels say:
mail-offer-from = This is an offer from { $company }, { $address }, { $phone }.
mail-from = { $company }, { $address }, { $phone }.
mail-license = License { $number }.
mail-no-offers = No more offers by mail: { $link } Notices that the law asks for still come.
