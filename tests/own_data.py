"""Loaded before Django's settings: the tests write into a folder of their own."""

import atexit
import os
import shutil
import tempfile

if "DATA_FOLDER" not in os.environ:
    _folder = tempfile.mkdtemp(prefix="seabed-tests-")
    os.environ["DATA_FOLDER"] = _folder
    atexit.register(shutil.rmtree, _folder, ignore_errors=True)
