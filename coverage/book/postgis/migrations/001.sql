-- The tables of a book; the package comment of lapwing/coverage/book tells what
-- each holds. An empty line ends a statement.

CREATE TABLE jobs (
	key TEXT NOT NULL PRIMARY KEY,
	program TEXT NOT NULL,
	question TEXT NOT NULL,
	put_at TIMESTAMPTZ NOT NULL DEFAULT now()
)

CREATE TABLE files (
	sha256 TEXT NOT NULL PRIMARY KEY,
	size BIGINT NOT NULL,
	put_at TIMESTAMPTZ NOT NULL DEFAULT now()
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
	assessment BYTEA NOT NULL,
	PRIMARY KEY (job, part)
)

CREATE TABLE sources (
	source TEXT NOT NULL PRIMARY KEY,
	job TEXT NOT NULL REFERENCES jobs (key)
)

CREATE INDEX sources_by_job ON sources (job)

CREATE TABLE fields (
	id BIGINT GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
	name TEXT NOT NULL,
	geom geometry(MultiPolygon, 4326)
)

CREATE TABLE assessments (
	id BIGINT GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
	job TEXT NOT NULL REFERENCES jobs (key),
	part INTEGER NOT NULL,
	field BIGINT NOT NULL REFERENCES fields (id),
	name TEXT NOT NULL,
	operation TEXT,
	run TEXT NOT NULL,
	year INTEGER,
	first_work TIMESTAMPTZ,
	last_work TIMESTAMPTZ,
	area_m2 DOUBLE PRECISION NOT NULL,
	covered_m2 DOUBLE PRECISION NOT NULL,
	skip_m2 DOUBLE PRECISION NOT NULL,
	remainder_m2 DOUBLE PRECISION NOT NULL,
	overlap_m2 DOUBLE PRECISION NOT NULL,
	excess_m2 DOUBLE PRECISION NOT NULL,
	overreach_m2 DOUBLE PRECISION NOT NULL,
	unlogged_m2 DOUBLE PRECISION NOT NULL,
	swept_m2 DOUBLE PRECISION NOT NULL,
	headland_completion DOUBLE PRECISION,
	edge_open_m DOUBLE PRECISION,
	wasted_n_kg DOUBLE PRECISION,
	wasted_cost DOUBLE PRECISION,
	currency TEXT,
	skips INTEGER NOT NULL,
	passes INTEGER NOT NULL,
	warnings INTEGER NOT NULL,
	geom geometry(MultiPolygon, 4326),
	UNIQUE (job, part)
)

CREATE INDEX assessments_by_field ON assessments (field, year)

CREATE TABLE machines (
	id BIGINT GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
	name TEXT NOT NULL UNIQUE
)

CREATE TABLE operators (
	id BIGINT GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
	name TEXT NOT NULL UNIQUE
)

CREATE TABLE assessment_machines (
	assessment BIGINT NOT NULL REFERENCES assessments (id) ON DELETE CASCADE,
	place INTEGER NOT NULL,
	machine BIGINT NOT NULL REFERENCES machines (id),
	operator BIGINT REFERENCES operators (id),
	width_m DOUBLE PRECISION,
	PRIMARY KEY (assessment, place)
)

CREATE INDEX assessment_machines_by_machine ON assessment_machines (machine)

CREATE INDEX assessment_machines_by_operator ON assessment_machines (operator)

CREATE TABLE skips (
	id BIGINT GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
	assessment BIGINT NOT NULL REFERENCES assessments (id) ON DELETE CASCADE,
	field TEXT NOT NULL,
	number INTEGER NOT NULL,
	area_m2 DOUBLE PRECISION NOT NULL,
	length_m DOUBLE PRECISION,
	width_m DOUBLE PRECISION,
	cause TEXT NOT NULL,
	mistake INTEGER NOT NULL,
	place TEXT NOT NULL,
	geom geometry(MultiPolygon, 4326)
)

CREATE INDEX skips_by_assessment ON skips (assessment)

CREATE TABLE "overlaps" (
	id BIGINT GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
	assessment BIGINT NOT NULL REFERENCES assessments (id) ON DELETE CASCADE,
	field TEXT NOT NULL,
	number INTEGER NOT NULL,
	area_m2 DOUBLE PRECISION NOT NULL,
	depth INTEGER NOT NULL,
	cause TEXT NOT NULL,
	place TEXT NOT NULL,
	geom geometry(MultiPolygon, 4326)
)

CREATE INDEX overlaps_by_assessment ON "overlaps" (assessment)

CREATE TABLE passes (
	id BIGINT GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
	assessment BIGINT NOT NULL REFERENCES assessments (id) ON DELETE CASCADE,
	field TEXT NOT NULL,
	number INTEGER NOT NULL,
	machine TEXT NOT NULL,
	kind TEXT NOT NULL,
	start_time TIMESTAMPTZ,
	end_time TIMESTAMPTZ,
	length_m DOUBLE PRECISION,
	swept_m2 DOUBLE PRECISION NOT NULL,
	new_m2 DOUBLE PRECISION NOT NULL,
	overlap_m2 DOUBLE PRECISION NOT NULL,
	geom geometry(MultiLineString, 4326)
)

CREATE INDEX passes_by_assessment ON passes (assessment)

CREATE INDEX fields_by_place ON "fields" USING gist (geom)

CREATE INDEX assessments_by_place ON "assessments" USING gist (geom)

CREATE INDEX skips_by_place ON "skips" USING gist (geom)

CREATE INDEX overlaps_by_place ON "overlaps" USING gist (geom)

CREATE INDEX passes_by_place ON "passes" USING gist (geom)

-- What is in files, where no folder was named for it; packed by gzip.

CREATE TABLE file_bytes (
	sha256 TEXT NOT NULL PRIMARY KEY,
	packed BYTEA NOT NULL
)

ALTER TABLE file_bytes ALTER COLUMN packed SET STORAGE EXTERNAL

ALTER TABLE stored ALTER COLUMN assessment SET STORAGE EXTERNAL
