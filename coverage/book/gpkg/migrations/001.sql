-- The tables of a book; the package comment of lapwing/coverage/book tells what
-- each holds. An empty line ends a statement.

CREATE TABLE jobs (
	key TEXT NOT NULL PRIMARY KEY,
	program TEXT NOT NULL,
	question TEXT NOT NULL,
	put_at DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ', 'now'))
)

CREATE TABLE files (
	sha256 TEXT NOT NULL PRIMARY KEY,
	size INTEGER NOT NULL,
	put_at DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ', 'now'))
)

CREATE TABLE job_files (
	job TEXT NOT NULL REFERENCES jobs (key) ON DELETE CASCADE,
	place INTEGER NOT NULL,
	name TEXT NOT NULL,
	sha256 TEXT NOT NULL REFERENCES files (sha256),
	PRIMARY KEY (job, place)
)

CREATE TABLE stored (
	job TEXT NOT NULL REFERENCES jobs (key) ON DELETE CASCADE,
	part INTEGER NOT NULL,
	assessment BLOB NOT NULL,
	PRIMARY KEY (job, part)
)

CREATE TABLE sources (
	source TEXT NOT NULL PRIMARY KEY,
	job TEXT NOT NULL REFERENCES jobs (key)
)

CREATE INDEX sources_by_job ON sources (job)

CREATE TABLE fields (
	id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
	name TEXT NOT NULL,
	geom MULTIPOLYGON
)

CREATE TABLE assessments (
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
	UNIQUE (job, part)
)

CREATE INDEX assessments_by_field ON assessments (field, year)

CREATE TABLE machines (
	id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
	name TEXT NOT NULL UNIQUE
)

CREATE TABLE operators (
	id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
	name TEXT NOT NULL UNIQUE
)

CREATE TABLE assessment_machines (
	assessment INTEGER NOT NULL REFERENCES assessments (id) ON DELETE CASCADE,
	place INTEGER NOT NULL,
	machine INTEGER NOT NULL REFERENCES machines (id),
	operator INTEGER REFERENCES operators (id),
	width_m DOUBLE,
	PRIMARY KEY (assessment, place)
)

CREATE INDEX assessment_machines_by_machine ON assessment_machines (machine)

CREATE INDEX assessment_machines_by_operator ON assessment_machines (operator)

CREATE TABLE skips (
	id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
	assessment INTEGER NOT NULL REFERENCES assessments (id) ON DELETE CASCADE,
	field TEXT NOT NULL,
	number INTEGER NOT NULL,
	area_m2 DOUBLE NOT NULL,
	length_m DOUBLE,
	width_m DOUBLE,
	cause TEXT NOT NULL,
	mistake INTEGER NOT NULL,
	place TEXT NOT NULL,
	geom MULTIPOLYGON
)

CREATE INDEX skips_by_assessment ON skips (assessment)

CREATE TABLE "overlaps" (
	id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
	assessment INTEGER NOT NULL REFERENCES assessments (id) ON DELETE CASCADE,
	field TEXT NOT NULL,
	number INTEGER NOT NULL,
	area_m2 DOUBLE NOT NULL,
	depth INTEGER NOT NULL,
	cause TEXT NOT NULL,
	place TEXT NOT NULL,
	geom MULTIPOLYGON
)

CREATE INDEX overlaps_by_assessment ON "overlaps" (assessment)

CREATE TABLE passes (
	id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
	assessment INTEGER NOT NULL REFERENCES assessments (id) ON DELETE CASCADE,
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
	geom MULTILINESTRING
)

CREATE INDEX passes_by_assessment ON passes (assessment)

INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id) VALUES
	('fields', 'features', 'fields', 'the ground of each field, as last worked', 4326),
	('assessments', 'features', 'assessments', 'what was found of a field in a season, in figures', 4326),
	('skips', 'features', 'skips', 'ground that no pass covered', 4326),
	('overlaps', 'features', 'overlaps', 'ground worked twice or more', 4326),
	('passes', 'features', 'passes', 'the way of the bar''s centre', 4326),
	('machines', 'attributes', 'machines', 'machines by name', NULL),
	('operators', 'attributes', 'operators', 'operators by name', NULL)

INSERT INTO gpkg_geometry_columns (table_name, column_name, geometry_type_name, srs_id, z, m) VALUES
	('fields', 'geom', 'MULTIPOLYGON', 4326, 0, 0),
	('assessments', 'geom', 'MULTIPOLYGON', 4326, 0, 0),
	('skips', 'geom', 'MULTIPOLYGON', 4326, 0, 0),
	('overlaps', 'geom', 'MULTIPOLYGON', 4326, 0, 0),
	('passes', 'geom', 'MULTILINESTRING', 4326, 0, 0)

CREATE TABLE gpkg_extensions (table_name TEXT, column_name TEXT, extension_name TEXT NOT NULL, definition TEXT NOT NULL, scope TEXT NOT NULL,
	CONSTRAINT ge_tce UNIQUE (table_name, column_name, extension_name))

-- The indices by place of GeoPackage 1.3, annex F.3, for each layer.

CREATE VIRTUAL TABLE rtree_fields_geom USING rtree(id, minx, maxx, miny, maxy)

CREATE TRIGGER rtree_fields_geom_insert AFTER INSERT ON "fields" WHEN (new.geom NOT NULL AND NOT ST_IsEmpty(new.geom)) BEGIN
	INSERT OR REPLACE INTO rtree_fields_geom VALUES (new.id, ST_MinX(new.geom), ST_MaxX(new.geom), ST_MinY(new.geom), ST_MaxY(new.geom));
END

CREATE TRIGGER rtree_fields_geom_update1 AFTER UPDATE OF geom ON "fields" WHEN old.id = new.id AND (new.geom NOTNULL AND NOT ST_IsEmpty(new.geom)) BEGIN
	INSERT OR REPLACE INTO rtree_fields_geom VALUES (new.id, ST_MinX(new.geom), ST_MaxX(new.geom), ST_MinY(new.geom), ST_MaxY(new.geom));
END

CREATE TRIGGER rtree_fields_geom_update2 AFTER UPDATE OF geom ON "fields" WHEN old.id = new.id AND (new.geom ISNULL OR ST_IsEmpty(new.geom)) BEGIN
	DELETE FROM rtree_fields_geom WHERE id = old.id;
END

CREATE TRIGGER rtree_fields_geom_update3 AFTER UPDATE ON "fields" WHEN old.id != new.id AND (new.geom NOTNULL AND NOT ST_IsEmpty(new.geom)) BEGIN
	DELETE FROM rtree_fields_geom WHERE id = old.id;
	INSERT OR REPLACE INTO rtree_fields_geom VALUES (new.id, ST_MinX(new.geom), ST_MaxX(new.geom), ST_MinY(new.geom), ST_MaxY(new.geom));
END

CREATE TRIGGER rtree_fields_geom_update4 AFTER UPDATE ON "fields" WHEN old.id != new.id AND (new.geom ISNULL OR ST_IsEmpty(new.geom)) BEGIN
	DELETE FROM rtree_fields_geom WHERE id IN (old.id, new.id);
END

CREATE TRIGGER rtree_fields_geom_delete AFTER DELETE ON "fields" WHEN old.geom NOT NULL BEGIN
	DELETE FROM rtree_fields_geom WHERE id = old.id;
END

INSERT INTO gpkg_extensions VALUES ('fields', 'geom', 'gpkg_rtree_index', 'http://www.geopackage.org/spec120/#extension_rtree', 'write-only')

CREATE VIRTUAL TABLE rtree_assessments_geom USING rtree(id, minx, maxx, miny, maxy)

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

INSERT INTO gpkg_extensions VALUES ('assessments', 'geom', 'gpkg_rtree_index', 'http://www.geopackage.org/spec120/#extension_rtree', 'write-only')

CREATE VIRTUAL TABLE rtree_skips_geom USING rtree(id, minx, maxx, miny, maxy)

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

INSERT INTO gpkg_extensions VALUES ('skips', 'geom', 'gpkg_rtree_index', 'http://www.geopackage.org/spec120/#extension_rtree', 'write-only')

CREATE VIRTUAL TABLE rtree_overlaps_geom USING rtree(id, minx, maxx, miny, maxy)

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

INSERT INTO gpkg_extensions VALUES ('overlaps', 'geom', 'gpkg_rtree_index', 'http://www.geopackage.org/spec120/#extension_rtree', 'write-only')

CREATE VIRTUAL TABLE rtree_passes_geom USING rtree(id, minx, maxx, miny, maxy)

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

INSERT INTO gpkg_extensions VALUES ('passes', 'geom', 'gpkg_rtree_index', 'http://www.geopackage.org/spec120/#extension_rtree', 'write-only')
