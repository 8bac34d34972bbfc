-- What grew on a field, by name, where the job says it. A book of before this has none.

CREATE TABLE crops (
	id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
	name TEXT NOT NULL,
	farm INTEGER NOT NULL DEFAULT 0,
	UNIQUE (farm, name)
)

ALTER TABLE assessments ADD COLUMN crop INTEGER REFERENCES crops (id)

CREATE INDEX assessments_by_crop ON assessments (crop, season, x, y, farm, attention)

-- The list of fields, the latest work first, is counted, searched and sorted from this alone.

DROP INDEX assessments_by_farm

CREATE INDEX assessments_by_latest ON assessments (farm, last_work, name, called)

-- What is asked over years is read from these alone: the tables have shapes between their columns.

CREATE INDEX assessments_by_year ON assessments (farm, year, field, area_m2, excess_m2, wasted_n_kg, id)

CREATE INDEX wastes_by_cause ON wastes (assessment, cause, n_kg, ground_m2, farm)
