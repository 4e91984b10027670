"""Loaded before Django's settings: the tests write into a folder of their own, whatever
DATA_FOLDER says, so that no real record is touched; so does each of several test processes."""

import atexit
import os
import shutil
import tempfile

_folder = tempfile.mkdtemp(prefix="seabed-tests-")
os.environ["DATA_FOLDER"] = _folder
atexit.register(shutil.rmtree, _folder, ignore_errors=True)
