-- Farms, and people who may look at them, work for them and manage them. What is shown
-- of a job is shown to the farm of the source that it stands at: each such table has the
-- farm, and a job that stands at sources of two farms is shown to each. Farm 0 is that of
-- what was put for no farm; a right to it is one to the whole book.

CREATE TABLE farms (
	id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
	name TEXT NOT NULL UNIQUE
)

INSERT INTO farms (id, name) VALUES (0, '')

CREATE TABLE people (
	id INTEGER NOT NULL PRIMARY KEY,
	sign_in TEXT NOT NULL UNIQUE,
	name TEXT NOT NULL,
	password TEXT,
	subject TEXT UNIQUE,
	stamp INTEGER NOT NULL DEFAULT 0,
	made_at DATETIME NOT NULL,
	ended_at DATETIME
)

CREATE TABLE rights (
	person INTEGER NOT NULL REFERENCES people (id) ON DELETE CASCADE,
	farm INTEGER NOT NULL REFERENCES farms (id) ON DELETE CASCADE,
	may INTEGER NOT NULL,
	PRIMARY KEY (person, farm)
)

CREATE TABLE sessions (
	hash TEXT NOT NULL PRIMARY KEY,
	content BLOB NOT NULL,
	ends_at DATETIME NOT NULL
)

CREATE TABLE tokens (
	id INTEGER NOT NULL PRIMARY KEY,
	person INTEGER NOT NULL REFERENCES people (id) ON DELETE CASCADE,
	name TEXT NOT NULL,
	hash TEXT NOT NULL UNIQUE,
	may INTEGER NOT NULL,
	made_at DATETIME NOT NULL,
	ends_at DATETIME NOT NULL
)

CREATE TABLE links (
	id INTEGER NOT NULL PRIMARY KEY,
	hash TEXT NOT NULL UNIQUE,
	farm INTEGER NOT NULL REFERENCES farms (id) ON DELETE CASCADE,
	job TEXT NOT NULL REFERENCES jobs (key),
	part INTEGER NOT NULL,
	name TEXT NOT NULL,
	made_by INTEGER NOT NULL REFERENCES people (id),
	made_at DATETIME NOT NULL,
	ends_at DATETIME NOT NULL
)

CREATE TABLE audit (
	id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
	at DATETIME NOT NULL,
	person INTEGER,
	farm INTEGER NOT NULL,
	did TEXT NOT NULL,
	about TEXT NOT NULL,
	from_address TEXT NOT NULL
)

CREATE INDEX audit_by_farm ON audit (farm, id)

ALTER TABLE sources ADD COLUMN farm INTEGER NOT NULL DEFAULT 0

ALTER TABLE fields ADD COLUMN farm INTEGER NOT NULL DEFAULT 0

-- SQLite changes no constraint of a table: each is made anew, and what is in it moves over.
-- The indices by place are of the same numbers, and stay.

CREATE TABLE new_assessments (
	id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
	job TEXT NOT NULL REFERENCES jobs (key),
	part INTEGER NOT NULL,
	field INTEGER NOT NULL REFERENCES fields (id),
	name TEXT NOT NULL,
	operation TEXT,
	run TEXT NOT NULL,
	year INTEGER,
	first_work DATETIME,
	last_work DATETIME,
	area_m2 DOUBLE NOT NULL,
	covered_m2 DOUBLE NOT NULL,
	skip_m2 DOUBLE NOT NULL,
	remainder_m2 DOUBLE NOT NULL,
	overlap_m2 DOUBLE NOT NULL,
	excess_m2 DOUBLE NOT NULL,
	overreach_m2 DOUBLE NOT NULL,
	unlogged_m2 DOUBLE NOT NULL,
	swept_m2 DOUBLE NOT NULL,
	headland_completion DOUBLE,
	edge_open_m DOUBLE,
	wasted_n_kg DOUBLE,
	wasted_cost DOUBLE,
	currency TEXT,
	skips INTEGER NOT NULL,
	passes INTEGER NOT NULL,
	warnings INTEGER NOT NULL,
	geom MULTIPOLYGON,
	farm INTEGER NOT NULL DEFAULT 0,
	UNIQUE (farm, job, part)
)

INSERT INTO new_assessments SELECT *, 0 FROM assessments

CREATE TABLE new_machines (
	id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
	name TEXT NOT NULL,
	farm INTEGER NOT NULL DEFAULT 0,
	UNIQUE (farm, name)
)

INSERT INTO new_machines SELECT *, 0 FROM machines

CREATE TABLE new_operators (
	id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
	name TEXT NOT NULL,
	farm INTEGER NOT NULL DEFAULT 0,
	UNIQUE (farm, name)
)

INSERT INTO new_operators SELECT *, 0 FROM operators

CREATE TABLE new_assessment_machines (
	assessment INTEGER NOT NULL REFERENCES new_assessments (id) ON DELETE CASCADE,
	place INTEGER NOT NULL,
	machine INTEGER NOT NULL REFERENCES new_machines (id),
	operator INTEGER REFERENCES new_operators (id),
	width_m DOUBLE,
	farm INTEGER NOT NULL DEFAULT 0,
	PRIMARY KEY (assessment, place)
)

INSERT INTO new_assessment_machines SELECT *, 0 FROM assessment_machines

CREATE TABLE new_skips (
	id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
	assessment INTEGER NOT NULL REFERENCES new_assessments (id) ON DELETE CASCADE,
	field TEXT NOT NULL,
	number INTEGER NOT NULL,
	area_m2 DOUBLE NOT NULL,
	length_m DOUBLE,
	width_m DOUBLE,
	cause TEXT NOT NULL,
	mistake INTEGER NOT NULL,
	place TEXT NOT NULL,
	geom MULTIPOLYGON,
	farm INTEGER NOT NULL DEFAULT 0
)

INSERT INTO new_skips SELECT *, 0 FROM skips

CREATE TABLE new_overlaps (
	id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
	assessment INTEGER NOT NULL REFERENCES new_assessments (id) ON DELETE CASCADE,
	field TEXT NOT NULL,
	number INTEGER NOT NULL,
	area_m2 DOUBLE NOT NULL,
	depth INTEGER NOT NULL,
	cause TEXT NOT NULL,
	place TEXT NOT NULL,
	geom MULTIPOLYGON,
	farm INTEGER NOT NULL DEFAULT 0
)

INSERT INTO new_overlaps SELECT *, 0 FROM "overlaps"

CREATE TABLE new_passes (
	id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
	assessment INTEGER NOT NULL REFERENCES new_assessments (id) ON DELETE CASCADE,
	field TEXT NOT NULL,
	number INTEGER NOT NULL,
	machine TEXT NOT NULL,
	kind TEXT NOT NULL,
	start_time DATETIME,
	end_time DATETIME,
	length_m DOUBLE,
	swept_m2 DOUBLE NOT NULL,
	new_m2 DOUBLE NOT NULL,
	overlap_m2 DOUBLE NOT NULL,
	geom MULTILINESTRING,
	farm INTEGER NOT NULL DEFAULT 0
)

INSERT INTO new_passes SELECT *, 0 FROM passes

DROP TABLE assessment_machines

DROP TABLE skips

DROP TABLE "overlaps"

DROP TABLE passes

DROP TABLE assessments

DROP TABLE machines

DROP TABLE operators

ALTER TABLE new_assessments RENAME TO assessments

ALTER TABLE new_machines RENAME TO machines

ALTER TABLE new_operators RENAME TO operators

ALTER TABLE new_assessment_machines RENAME TO assessment_machines

ALTER TABLE new_skips RENAME TO skips

ALTER TABLE new_overlaps RENAME TO "overlaps"

ALTER TABLE new_passes RENAME TO passes

CREATE INDEX assessments_by_field ON assessments (field, year)

CREATE INDEX assessment_machines_by_machine ON assessment_machines (machine)

CREATE INDEX assessment_machines_by_operator ON assessment_machines (operator)

CREATE INDEX skips_by_assessment ON skips (assessment)

CREATE INDEX overlaps_by_assessment ON "overlaps" (assessment)

CREATE INDEX passes_by_assessment ON passes (assessment)

CREATE TRIGGER rtree_assessments_geom_insert AFTER INSERT ON "assessments" WHEN (new.geom NOT NULL AND NOT ST_IsEmpty(new.geom)) BEGIN
	INSERT OR REPLACE INTO rtree_assessments_geom VALUES (new.id, ST_MinX(new.geom), ST_MaxX(new.geom), ST_MinY(new.geom), ST_MaxY(new.geom));
END

CREATE TRIGGER rtree_assessments_geom_update1 AFTER UPDATE OF geom ON "assessments" WHEN old.id = new.id AND (new.geom NOTNULL AND NOT ST_IsEmpty(new.geom)) BEGIN
	INSERT OR REPLACE INTO rtree_assessments_geom VALUES (new.id, ST_MinX(new.geom), ST_MaxX(new.geom), ST_MinY(new.geom), ST_MaxY(new.geom));
END

CREATE TRIGGER rtree_assessments_geom_update2 AFTER UPDATE OF geom ON "assessments" WHEN old.id = new.id AND (new.geom ISNULL OR ST_IsEmpty(new.geom)) BEGIN
	DELETE FROM rtree_assessments_geom WHERE id = old.id;
END

CREATE TRIGGER rtree_assessments_geom_update3 AFTER UPDATE ON "assessments" WHEN old.id != new.id AND (new.geom NOTNULL AND NOT ST_IsEmpty(new.geom)) BEGIN
	DELETE FROM rtree_assessments_geom WHERE id = old.id;
	INSERT OR REPLACE INTO rtree_assessments_geom VALUES (new.id, ST_MinX(new.geom), ST_MaxX(new.geom), ST_MinY(new.geom), ST_MaxY(new.geom));
END

CREATE TRIGGER rtree_assessments_geom_update4 AFTER UPDATE ON "assessments" WHEN old.id != new.id AND (new.geom ISNULL OR ST_IsEmpty(new.geom)) BEGIN
	DELETE FROM rtree_assessments_geom WHERE id IN (old.id, new.id);
END

CREATE TRIGGER rtree_assessments_geom_delete AFTER DELETE ON "assessments" WHEN old.geom NOT NULL BEGIN
	DELETE FROM rtree_assessments_geom WHERE id = old.id;
END

CREATE TRIGGER rtree_skips_geom_insert AFTER INSERT ON "skips" WHEN (new.geom NOT NULL AND NOT ST_IsEmpty(new.geom)) BEGIN
	INSERT OR REPLACE INTO rtree_skips_geom VALUES (new.id, ST_MinX(new.geom), ST_MaxX(new.geom), ST_MinY(new.geom), ST_MaxY(new.geom));
END

CREATE TRIGGER rtree_skips_geom_update1 AFTER UPDATE OF geom ON "skips" WHEN old.id = new.id AND (new.geom NOTNULL AND NOT ST_IsEmpty(new.geom)) BEGIN
	INSERT OR REPLACE INTO rtree_skips_geom VALUES (new.id, ST_MinX(new.geom), ST_MaxX(new.geom), ST_MinY(new.geom), ST_MaxY(new.geom));
END

CREATE TRIGGER rtree_skips_geom_update2 AFTER UPDATE OF geom ON "skips" WHEN old.id = new.id AND (new.geom ISNULL OR ST_IsEmpty(new.geom)) BEGIN
	DELETE FROM rtree_skips_geom WHERE id = old.id;
END

CREATE TRIGGER rtree_skips_geom_update3 AFTER UPDATE ON "skips" WHEN old.id != new.id AND (new.geom NOTNULL AND NOT ST_IsEmpty(new.geom)) BEGIN
	DELETE FROM rtree_skips_geom WHERE id = old.id;
	INSERT OR REPLACE INTO rtree_skips_geom VALUES (new.id, ST_MinX(new.geom), ST_MaxX(new.geom), ST_MinY(new.geom), ST_MaxY(new.geom));
END

CREATE TRIGGER rtree_skips_geom_update4 AFTER UPDATE ON "skips" WHEN old.id != new.id AND (new.geom ISNULL OR ST_IsEmpty(new.geom)) BEGIN
	DELETE FROM rtree_skips_geom WHERE id IN (old.id, new.id);
END

CREATE TRIGGER rtree_skips_geom_delete AFTER DELETE ON "skips" WHEN old.geom NOT NULL BEGIN
	DELETE FROM rtree_skips_geom WHERE id = old.id;
END

CREATE TRIGGER rtree_overlaps_geom_insert AFTER INSERT ON "overlaps" WHEN (new.geom NOT NULL AND NOT ST_IsEmpty(new.geom)) BEGIN
	INSERT OR REPLACE INTO rtree_overlaps_geom VALUES (new.id, ST_MinX(new.geom), ST_MaxX(new.geom), ST_MinY(new.geom), ST_MaxY(new.geom));
END

CREATE TRIGGER rtree_overlaps_geom_update1 AFTER UPDATE OF geom ON "overlaps" WHEN old.id = new.id AND (new.geom NOTNULL AND NOT ST_IsEmpty(new.geom)) BEGIN
	INSERT OR REPLACE INTO rtree_overlaps_geom VALUES (new.id, ST_MinX(new.geom), ST_MaxX(new.geom), ST_MinY(new.geom), ST_MaxY(new.geom));
END

CREATE TRIGGER rtree_overlaps_geom_update2 AFTER UPDATE OF geom ON "overlaps" WHEN old.id = new.id AND (new.geom ISNULL OR ST_IsEmpty(new.geom)) BEGIN
	DELETE FROM rtree_overlaps_geom WHERE id = old.id;
END

CREATE TRIGGER rtree_overlaps_geom_update3 AFTER UPDATE ON "overlaps" WHEN old.id != new.id AND (new.geom NOTNULL AND NOT ST_IsEmpty(new.geom)) BEGIN
	DELETE FROM rtree_overlaps_geom WHERE id = old.id;
	INSERT OR REPLACE INTO rtree_overlaps_geom VALUES (new.id, ST_MinX(new.geom), ST_MaxX(new.geom), ST_MinY(new.geom), ST_MaxY(new.geom));
END

CREATE TRIGGER rtree_overlaps_geom_update4 AFTER UPDATE ON "overlaps" WHEN old.id != new.id AND (new.geom ISNULL OR ST_IsEmpty(new.geom)) BEGIN
	DELETE FROM rtree_overlaps_geom WHERE id IN (old.id, new.id);
END

CREATE TRIGGER rtree_overlaps_geom_delete AFTER DELETE ON "overlaps" WHEN old.geom NOT NULL BEGIN
	DELETE FROM rtree_overlaps_geom WHERE id = old.id;
END

CREATE TRIGGER rtree_passes_geom_insert AFTER INSERT ON "passes" WHEN (new.geom NOT NULL AND NOT ST_IsEmpty(new.geom)) BEGIN
	INSERT OR REPLACE INTO rtree_passes_geom VALUES (new.id, ST_MinX(new.geom), ST_MaxX(new.geom), ST_MinY(new.geom), ST_MaxY(new.geom));
END

CREATE TRIGGER rtree_passes_geom_update1 AFTER UPDATE OF geom ON "passes" WHEN old.id = new.id AND (new.geom NOTNULL AND NOT ST_IsEmpty(new.geom)) BEGIN
	INSERT OR REPLACE INTO rtree_passes_geom VALUES (new.id, ST_MinX(new.geom), ST_MaxX(new.geom), ST_MinY(new.geom), ST_MaxY(new.geom));
END

CREATE TRIGGER rtree_passes_geom_update2 AFTER UPDATE OF geom ON "passes" WHEN old.id = new.id AND (new.geom ISNULL OR ST_IsEmpty(new.geom)) BEGIN
	DELETE FROM rtree_passes_geom WHERE id = old.id;
END

CREATE TRIGGER rtree_passes_geom_update3 AFTER UPDATE ON "passes" WHEN old.id != new.id AND (new.geom NOTNULL AND NOT ST_IsEmpty(new.geom)) BEGIN
	DELETE FROM rtree_passes_geom WHERE id = old.id;
	INSERT OR REPLACE INTO rtree_passes_geom VALUES (new.id, ST_MinX(new.geom), ST_MaxX(new.geom), ST_MinY(new.geom), ST_MaxY(new.geom));
END

CREATE TRIGGER rtree_passes_geom_update4 AFTER UPDATE ON "passes" WHEN old.id != new.id AND (new.geom ISNULL OR ST_IsEmpty(new.geom)) BEGIN
	DELETE FROM rtree_passes_geom WHERE id IN (old.id, new.id);
END

CREATE TRIGGER rtree_passes_geom_delete AFTER DELETE ON "passes" WHEN old.geom NOT NULL BEGIN
	DELETE FROM rtree_passes_geom WHERE id = old.id;
END

CREATE INDEX assessments_by_farm ON assessments (farm, last_work)
