"""The forms that clauses take in rule books, each with the kinds that state it and an example that loads as it stands.

All examples are invented. They speak of the slots, parts, levels and services of the demo engine; behind the first line
of a rule pack, `name = "..."`, each is a whole pack. `costplan rules forms` shows them.
"""

from types import MappingProxyType

from costplan.rules.forms.around import AROUND
from costplan.rules.forms.book import BOOK
from costplan.rules.forms.engine import ENGINE
from costplan.rules.forms.form import LETTERS, Form
from costplan.rules.forms.season import SEASON

#: All forms by number.
FORMS = MappingProxyType({form.number: form for form in (*ENGINE, *AROUND, *SEASON, *BOOK)})

__all__ = ["FORMS", "LETTERS", "Form"]
