# Frases que el programa forma con sus normas, con los valores abiertos. Los mismos nombres están en los otros idiomas.
and-between = { " " }y{ " " }
words-nothing-here = Aquí no hay nada
words-no-such-page = No existe esa página o no le corresponde verla.
