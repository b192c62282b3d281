-- The tides of a site: its stream table and the high waters that are known, as a JSON document.
ALTER TABLE site ADD COLUMN tides TEXT;
