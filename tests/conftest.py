"""What holds for all tests."""

import pytest
from PIL import ImageFile


def pytest_collection_finish(session: pytest.Session) -> None:
    """Undo what importing WeasyPrint does, as the program's door to it does at once.

    Test modules that import it themselves have told Pillow by now to fill up cut-off pictures.
    """
    ImageFile.LOAD_TRUNCATED_IMAGES = False
