"""The rest of the law's tables, against the packaged law."""

import pytest

from bloomless.rules import law_of
from rules.more_checks import MORE


@pytest.mark.parametrize("name", MORE)
def test_more(name):
    MORE[name](law_of)
