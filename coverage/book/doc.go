// Package book keeps what was assessed, so that a job whose inputs are the same is
// not measured again.
//
//	job, its files --Look--> Record, as it would be now                  record.go
//	Record kept before --Same--> whether what was made then is still right
//	Record --Seek--> Sought: the key of the job in any book              key.go, names.go
//	Assessment --PartOf--> Part: bytes, figures and shapes to keep       part.go
//	Store: what a book keeps, whatever keeps it                          store.go
//	Served: the same, open to people                                     people.go
//	Featured: what it shows, in layers for other programs                features.go
//
// A [Record] stands as [RecordFile] beside the files that were made of a job in one
// directory. A [Store] is a book for many directories and computers: a GeoPackage
// (package gpkg) or PostgreSQL with PostGIS (package postgis). Both have the same tables
// (package tables asks them in SQL), each its own text of them, in migrations that are
// numbered and never changed once released:
//
//	jobs         a job by the hash of what its answer hangs on: program, question, files
//	files        the files of jobs by the hash of what is in them, each once
//	job_files    which files a job is made of, under which names; the job file first
//	stored       the assessments of a job, a row for each field and operation (part), as
//	             assess.Encode writes them, under neutral names ([Names]). Never dropped
//	sources      which job stands at a place: a computer and the path of a job file
//	fields       the ground of a field through the years: name, and boundary as last worked
//	assessments  a field's part of a job, in figures, with the boundary as it was measured
//	machines     machines by name
//	operators    operators by name
//	crops        crops by name, where jobs say them
//	assessment_machines   which machines worked in an assessment, who drove them, and what
//	             they did: ground, time, the lap on either side
//	wastes       what each product of an assessment wasted, by cause
//	squares      how many assessments lie in a square of the map of all fields, and what
//	             they need; triggers count
//	skips, overlaps, passes   of an assessment: shape, number, figures, cause
//
// What is asked of many years is [Years], the map of all fields [Atlas].
//
// The assessments of a job stay in stored for good: a call with the same inputs takes them
// from there. The tables from fields on are for people and GIS programs, and hold only jobs
// that stand at some source now. A job whose files change leaves these tables with its last
// source, and comes back when the files change back. Areas are in m², lengths in m, times
// in UTC, places in degrees on WGS 84 (EPSG 4326). Everything that a job writes into a book
// is one transaction.
//
// A job has no owner: two farms that send the same files have the same job. Rights hang on
// sources, so people, farms and what they may do join that table in a migration of their
// own.
package book
