# Words of the pages ashore.
