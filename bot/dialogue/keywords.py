"""The words that start something or answer yes and no, as people of other languages text them.

Each is understood from everybody; none may name two things. Common practice, no source.
"""

from __future__ import annotations

from ..rules.fields import plain

# Of Spanish, French, Portuguese and Norwegian.
_COMMANDS = {
    "jar": ("frasco", "tarro", "muestra", "bocal", "échantillon", "amostra", "krukke", "prøve"),
    "case": ("caso", "affaire", "sak"),
    "ok": ("vale", "d'accord", "certo", "greit"),
    "skip": ("saltar", "omitir", "passer", "sauter", "pular", "hopp"),
    "wrong": ("incorrecto", "faux", "errado", "feil"),
    "status": ("estado", "état"),
    "help": ("aide",),
    "why": ("pourquoi", "hvorfor"),
    "again": ("repetir", "encore", "igjen"),
    "stop": ("parar", "arrêter", "stopp"),
    "cancel": ("cancelar", "annuler", "avbryt"),
}
COMMANDS_OF_ALL = {
    form: command for command, words in _COMMANDS.items() for word in words for form in {word, plain(word)}
}
SKIPS = frozenset(("skip", *(form for form, command in COMMANDS_OF_ALL.items() if command == "skip")))
YES = ("sí", "si", "oui", "sim", "ja")
NOW = ("now", "ahora", "maintenant", "agora", "nå")
CHANGED = ("cambiados", "nuevos", "changés", "neufs", "trocadas", "novas", "byttet", "nye")  # of gloves
NOT = ("non", "no", "não", "nao", "ikke")  # before one of them
WATER = ("water", "agua", "água", "eau", "vann")  # in a kind, it names what was sampled as well
UNUSED = ("unused", "sin usar", "inutilis", "por usar", "ubrukt")
NO = ("non", "não", "nao", "nei")
