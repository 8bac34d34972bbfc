-- What is asked over the years, and the map of all fields.

-- What each product wasted by cause, of an assessment: wasted_n_kg of assessments is the sum
-- over products and causes. The cause 'too small' is of patches too small to have one.

CREATE TABLE wastes (
	assessment INTEGER NOT NULL REFERENCES assessments (id) ON DELETE CASCADE,
	product INTEGER NOT NULL,
	cause TEXT NOT NULL,
	ground_m2 DOUBLE NOT NULL,
	n_kg DOUBLE,
	cost DOUBLE,
	currency TEXT,
	farm INTEGER NOT NULL DEFAULT 0,
	PRIMARY KEY (assessment, product, cause)
)

-- What a machine did in an assessment: its ground, its time, and the lap that it kept on
-- either side, as driven, along so many metres; below zero is a gap. What the assessment has
-- for the map stands here too, so that the fields of one machine are counted without it.

ALTER TABLE assessment_machines ADD COLUMN swept_m2 DOUBLE

ALTER TABLE assessment_machines ADD COLUMN new_m2 DOUBLE

ALTER TABLE assessment_machines ADD COLUMN overlap_m2 DOUBLE

ALTER TABLE assessment_machines ADD COLUMN field_s DOUBLE

ALTER TABLE assessment_machines ADD COLUMN working_s DOUBLE

ALTER TABLE assessment_machines ADD COLUMN lap_aimed_m DOUBLE

ALTER TABLE assessment_machines ADD COLUMN left_along_m DOUBLE

ALTER TABLE assessment_machines ADD COLUMN left_lap_m DOUBLE

ALTER TABLE assessment_machines ADD COLUMN right_along_m DOUBLE

ALTER TABLE assessment_machines ADD COLUMN right_lap_m DOUBLE

ALTER TABLE assessment_machines ADD COLUMN season INTEGER NOT NULL DEFAULT 0

ALTER TABLE assessment_machines ADD COLUMN attention INTEGER NOT NULL DEFAULT 0

ALTER TABLE assessment_machines ADD COLUMN x DOUBLE

ALTER TABLE assessment_machines ADD COLUMN y DOUBLE

-- Where an assessment is on the map: in degrees of Mercator's projection of the sphere, in
-- which x is the longitude, and y as long at the equator. season is the year, 0 for none;
-- strip is 8 x from the antimeridian, in whole numbers; outline is the boundary, coarsely;
-- attention what needs some: 0 nothing, 1 not finished, 2 laps, 3 skips. Skipped is what was
-- by mistake, unworked what is not worked yet; called is the name in small letters.

ALTER TABLE assessments ADD COLUMN called TEXT

ALTER TABLE assessments ADD COLUMN season INTEGER NOT NULL DEFAULT 0

ALTER TABLE assessments ADD COLUMN attention INTEGER NOT NULL DEFAULT 0

ALTER TABLE assessments ADD COLUMN x DOUBLE

ALTER TABLE assessments ADD COLUMN y DOUBLE

ALTER TABLE assessments ADD COLUMN x_least DOUBLE

ALTER TABLE assessments ADD COLUMN y_least DOUBLE

ALTER TABLE assessments ADD COLUMN x_most DOUBLE

ALTER TABLE assessments ADD COLUMN y_most DOUBLE

ALTER TABLE assessments ADD COLUMN strip INTEGER

ALTER TABLE assessments ADD COLUMN outline TEXT

ALTER TABLE assessments ADD COLUMN skipped_m2 DOUBLE

ALTER TABLE assessments ADD COLUMN unworked_m2 DOUBLE

CREATE INDEX fields_by_farm ON fields (farm)

CREATE INDEX assessments_by_map ON assessments (season, strip, y, x, farm, attention, called, last_work)

CREATE INDEX assessments_by_day ON assessments (season, last_work, x, y, farm, attention)

CREATE INDEX assessment_machines_by_map ON assessment_machines (machine, season, x, y, farm, attention, operator, assessment)

CREATE INDEX assessment_operators_by_map ON assessment_machines (operator, season, x, y, farm, attention, machine, assessment)

-- How many assessments lie in a square of the map, of 16 degrees at level 0 and half of that
-- at each level more, and what they need. A trigger counts.

CREATE TABLE squares (
	season INTEGER NOT NULL,
	level INTEGER NOT NULL,
	x INTEGER NOT NULL,
	y INTEGER NOT NULL,
	farm INTEGER NOT NULL,
	fields INTEGER NOT NULL,
	skips INTEGER NOT NULL,
	laps INTEGER NOT NULL,
	unfinished INTEGER NOT NULL,
	PRIMARY KEY (season, level, x, y, farm)
)

CREATE TRIGGER squares_insert AFTER INSERT ON assessments BEGIN
	INSERT INTO squares (season, level, x, y, farm, fields, skips, laps, unfinished)
	SELECT new.season, column1, CAST((new.x + 180) * (1 << column1) / 16 AS INTEGER), CAST((new.y + 180) * (1 << column1) / 16 AS INTEGER), new.farm, 1, new.attention = 3, new.attention = 2, new.attention = 1
	FROM (VALUES (0), (1), (2), (3), (4), (5), (6), (7), (8), (9), (10)) AS levels WHERE new.x IS NOT NULL
	ON CONFLICT (season, level, x, y, farm) DO UPDATE SET fields = fields + 1, skips = skips + excluded.skips, laps = laps + excluded.laps, unfinished = unfinished + excluded.unfinished;
END

CREATE TRIGGER squares_delete AFTER DELETE ON assessments BEGIN
	UPDATE squares SET fields = fields - 1, skips = skips - (old.attention = 3), laps = laps - (old.attention = 2), unfinished = unfinished - (old.attention = 1)
	WHERE season = old.season AND farm = old.farm AND (level, x, y) IN (SELECT column1, CAST((old.x + 180) * (1 << column1) / 16 AS INTEGER), CAST((old.y + 180) * (1 << column1) / 16 AS INTEGER) FROM (VALUES (0), (1), (2), (3), (4), (5), (6), (7), (8), (9), (10)) AS levels);
	DELETE FROM squares WHERE fields = 0 AND season = old.season AND farm = old.farm AND (level, x, y) IN (SELECT column1, CAST((old.x + 180) * (1 << column1) / 16 AS INTEGER), CAST((old.y + 180) * (1 << column1) / 16 AS INTEGER) FROM (VALUES (0), (1), (2), (3), (4), (5), (6), (7), (8), (9), (10)) AS levels);
END

CREATE TRIGGER squares_update AFTER UPDATE OF x, y, season, attention, farm ON assessments BEGIN
	UPDATE squares SET fields = fields - 1, skips = skips - (old.attention = 3), laps = laps - (old.attention = 2), unfinished = unfinished - (old.attention = 1)
	WHERE season = old.season AND farm = old.farm AND (level, x, y) IN (SELECT column1, CAST((old.x + 180) * (1 << column1) / 16 AS INTEGER), CAST((old.y + 180) * (1 << column1) / 16 AS INTEGER) FROM (VALUES (0), (1), (2), (3), (4), (5), (6), (7), (8), (9), (10)) AS levels);
	DELETE FROM squares WHERE fields = 0 AND season = old.season AND farm = old.farm AND (level, x, y) IN (SELECT column1, CAST((old.x + 180) * (1 << column1) / 16 AS INTEGER), CAST((old.y + 180) * (1 << column1) / 16 AS INTEGER) FROM (VALUES (0), (1), (2), (3), (4), (5), (6), (7), (8), (9), (10)) AS levels);
	INSERT INTO squares (season, level, x, y, farm, fields, skips, laps, unfinished)
	SELECT new.season, column1, CAST((new.x + 180) * (1 << column1) / 16 AS INTEGER), CAST((new.y + 180) * (1 << column1) / 16 AS INTEGER), new.farm, 1, new.attention = 3, new.attention = 2, new.attention = 1
	FROM (VALUES (0), (1), (2), (3), (4), (5), (6), (7), (8), (9), (10)) AS levels WHERE new.x IS NOT NULL
	ON CONFLICT (season, level, x, y, farm) DO UPDATE SET fields = fields + 1, skips = skips + excluded.skips, laps = laps + excluded.laps, unfinished = unfinished + excluded.unfinished;
END

CREATE INDEX squares_by_farm ON squares (farm, level)
