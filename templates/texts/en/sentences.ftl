# Sentences that the program makes of its rules and keeps in English, with their values left open. The same names stand
# in the other languages' files. A sentence is found by its English form: whoever changes it in the program changes it
# here too. The tests in `tests/look` and beside the rules say which is missing.
and-between = { " " }and{ " " }
words-nothing-here = Nothing here
words-no-such-page = There is no such page, or it is not yours to see.
