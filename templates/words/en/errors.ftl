# Words for what went wrong.
