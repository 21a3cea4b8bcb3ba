"""Imported by the server that workers are forked from, and by nothing else.

The server is a fresh process without threads, so that to fork it is safe whatever the run's own process
holds, and each worker begins with all that is imported here.
"""

import signal

from bmslint.gate.worker import prepare

# From its first moment on a worker leaves Ctrl-C to the run.
signal.signal(signal.SIGINT, signal.SIG_IGN)
prepare()
