-- What is asked over the years, and the map of all fields.

-- What each product wasted by cause, of an assessment: wasted_n_kg of assessments is the sum
-- over products and causes. The cause 'too small' is of patches too small to have one.

CREATE TABLE wastes (
	assessment BIGINT NOT NULL REFERENCES assessments (id) ON DELETE CASCADE,
	product INTEGER NOT NULL,
	cause TEXT NOT NULL,
	ground_m2 DOUBLE PRECISION NOT NULL,
	n_kg DOUBLE PRECISION,
	cost DOUBLE PRECISION,
	currency TEXT,
	farm BIGINT NOT NULL DEFAULT 0 REFERENCES farms (id),
	PRIMARY KEY (assessment, product, cause)
)

-- What a machine did in an assessment: its ground, its time, and the lap that it kept on
-- either side, as driven, along so many metres; below zero is a gap. What the assessment has
-- for the map stands here too, so that the fields of one machine are counted without it.

ALTER TABLE assessment_machines
	ADD COLUMN swept_m2 DOUBLE PRECISION,
	ADD COLUMN new_m2 DOUBLE PRECISION,
	ADD COLUMN overlap_m2 DOUBLE PRECISION,
	ADD COLUMN field_s DOUBLE PRECISION,
	ADD COLUMN working_s DOUBLE PRECISION,
	ADD COLUMN lap_aimed_m DOUBLE PRECISION,
	ADD COLUMN left_along_m DOUBLE PRECISION,
	ADD COLUMN left_lap_m DOUBLE PRECISION,
	ADD COLUMN right_along_m DOUBLE PRECISION,
	ADD COLUMN right_lap_m DOUBLE PRECISION,
	ADD COLUMN season INTEGER NOT NULL DEFAULT 0,
	ADD COLUMN attention INTEGER NOT NULL DEFAULT 0,
	ADD COLUMN x DOUBLE PRECISION,
	ADD COLUMN y DOUBLE PRECISION

-- Where an assessment is on the map: in degrees of Mercator's projection of the sphere, in
-- which x is the longitude, and y as long at the equator. season is the year, 0 for none;
-- strip is 8 x from the antimeridian, in whole numbers; outline is the boundary, coarsely;
-- attention what needs some: 0 nothing, 1 not finished, 2 laps, 3 skips. Skipped is what was
-- by mistake, unworked what is not worked yet; called is the name in small letters.

ALTER TABLE assessments
	ADD COLUMN called TEXT,
	ADD COLUMN season INTEGER NOT NULL DEFAULT 0,
	ADD COLUMN attention INTEGER NOT NULL DEFAULT 0,
	ADD COLUMN x DOUBLE PRECISION,
	ADD COLUMN y DOUBLE PRECISION,
	ADD COLUMN x_least DOUBLE PRECISION,
	ADD COLUMN y_least DOUBLE PRECISION,
	ADD COLUMN x_most DOUBLE PRECISION,
	ADD COLUMN y_most DOUBLE PRECISION,
	ADD COLUMN strip INTEGER,
	ADD COLUMN outline TEXT,
	ADD COLUMN skipped_m2 DOUBLE PRECISION,
	ADD COLUMN unworked_m2 DOUBLE PRECISION

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
	farm BIGINT NOT NULL REFERENCES farms (id),
	fields INTEGER NOT NULL,
	skips INTEGER NOT NULL,
	laps INTEGER NOT NULL,
	unfinished INTEGER NOT NULL,
	PRIMARY KEY (season, level, x, y, farm)
)

CREATE FUNCTION count_squares() RETURNS TRIGGER LANGUAGE plpgsql SECURITY DEFINER SET search_path = lapwing, pg_temp AS $$
BEGIN
	IF TG_OP <> 'INSERT' AND OLD.x IS NOT NULL THEN
		UPDATE squares SET fields = fields - 1, skips = skips - CAST(OLD.attention = 3 AS INTEGER),
			laps = laps - CAST(OLD.attention = 2 AS INTEGER), unfinished = unfinished - CAST(OLD.attention = 1 AS INTEGER)
		FROM generate_series(0, 10) AS of_level
		WHERE season = OLD.season AND farm = OLD.farm AND level = of_level
			AND squares.x = floor((OLD.x + 180) * (1 << of_level) / 16) AND squares.y = floor((OLD.y + 180) * (1 << of_level) / 16);
		DELETE FROM squares USING generate_series(0, 10) AS of_level
		WHERE season = OLD.season AND farm = OLD.farm AND level = of_level AND fields = 0
			AND squares.x = floor((OLD.x + 180) * (1 << of_level) / 16) AND squares.y = floor((OLD.y + 180) * (1 << of_level) / 16);
	END IF;
	IF TG_OP <> 'DELETE' AND NEW.x IS NOT NULL THEN
		INSERT INTO squares (season, level, x, y, farm, fields, skips, laps, unfinished)
		SELECT NEW.season, of_level, floor((NEW.x + 180) * (1 << of_level) / 16), floor((NEW.y + 180) * (1 << of_level) / 16), NEW.farm,
			1, CAST(NEW.attention = 3 AS INTEGER), CAST(NEW.attention = 2 AS INTEGER), CAST(NEW.attention = 1 AS INTEGER)
		FROM generate_series(0, 10) AS of_level
		ON CONFLICT (season, level, x, y, farm) DO UPDATE SET fields = squares.fields + 1, skips = squares.skips + excluded.skips,
			laps = squares.laps + excluded.laps, unfinished = squares.unfinished + excluded.unfinished;
	END IF;
	RETURN NULL;
END
$$

REVOKE EXECUTE ON FUNCTION count_squares() FROM PUBLIC

CREATE TRIGGER squares_counted AFTER INSERT OR DELETE OR UPDATE OF x, y, season, attention, farm ON assessments FOR EACH ROW EXECUTE FUNCTION count_squares()

CREATE INDEX squares_by_farm ON squares (farm, level)

ALTER TABLE wastes ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY

CREATE POLICY owns ON wastes TO CURRENT_USER USING (true) WITH CHECK (true)

CREATE POLICY looks ON wastes FOR SELECT USING (farm = ANY ((SELECT farms_of(1))::BIGINT[]))

CREATE POLICY adds ON wastes FOR INSERT WITH CHECK (farm = ANY ((SELECT farms_of(2))::BIGINT[]))

CREATE POLICY changes ON wastes FOR UPDATE USING (farm = ANY ((SELECT farms_of(2))::BIGINT[])) WITH CHECK (farm = ANY ((SELECT farms_of(2))::BIGINT[]))

CREATE POLICY drops ON wastes FOR DELETE USING (farm = ANY ((SELECT farms_of(2))::BIGINT[]))

ALTER TABLE squares ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY

CREATE POLICY owns ON squares TO CURRENT_USER USING (true) WITH CHECK (true)

CREATE POLICY looks ON squares FOR SELECT USING (farm = ANY ((SELECT farms_of(1))::BIGINT[]))
