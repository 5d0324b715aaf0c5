from tests.season_model import X
from tests.season_model.sub import Y
def test_x() -> None:
    assert X == 1 and Y == 2
