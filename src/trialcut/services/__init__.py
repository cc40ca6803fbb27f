"""One function per thing an engineer does; the command line and the pages share them."""
