# Words of the skipper's pages.
