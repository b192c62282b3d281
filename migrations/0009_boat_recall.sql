-- The recall signal that a boat agrees on in its briefings, in words.
ALTER TABLE boat ADD COLUMN recall_signal TEXT;
