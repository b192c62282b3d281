# Words of the divemaster's pages.
