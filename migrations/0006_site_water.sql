-- The water of a site: salt or fresh, and the pressure of the air above it (a mountain lake).
ALTER TABLE site ADD COLUMN water TEXT NOT NULL DEFAULT 'salt' CHECK (water IN ('salt', 'fresh'));
ALTER TABLE site ADD COLUMN surface_bar REAL NOT NULL DEFAULT 1.01325
    CHECK (surface_bar BETWEEN 0.5 AND 1.1);
