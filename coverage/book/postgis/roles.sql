-- What those may do who serve the book to people (lapwing_serve) and who measure what waits
-- (lapwing_work). Rows are kept apart by the policies of the tables; here stands which
-- tables, and which columns, each of them touches at all. May be run again.
GRANT USAGE ON SCHEMA lapwing TO lapwing_serve, lapwing_work;
GRANT SELECT ON book_migrations TO lapwing_serve, lapwing_work;

GRANT SELECT, INSERT ON jobs, files, job_files, stored, file_bytes TO lapwing_serve, lapwing_work;
GRANT SELECT, INSERT, UPDATE, DELETE ON sources, fields, assessments, machines, operators, crops, assessment_machines, skips, "overlaps", passes, wastes TO lapwing_serve;
GRANT SELECT, INSERT ON farms TO lapwing_serve;
GRANT SELECT (id, sign_in, name, subject, made_at, ended_at), INSERT, UPDATE (password, stamp, ended_at) ON people TO lapwing_serve;
GRANT SELECT (stamp) ON people TO lapwing_serve;
GRANT SELECT, INSERT, UPDATE, DELETE ON rights TO lapwing_serve;
GRANT SELECT, INSERT, DELETE ON tokens, links TO lapwing_serve;
GRANT SELECT ON audit, squares TO lapwing_serve;
GRANT EXECUTE ON ALL FUNCTIONS IN SCHEMA lapwing TO lapwing_serve;
GRANT EXECUTE ON FUNCTION stored_of(TEXT) TO lapwing_work;

-- A worker measures jobs of all farms, and shows none of them to anybody.
DO $$
DECLARE t TEXT;
BEGIN
	FOREACH t IN ARRAY ARRAY['jobs', 'files', 'job_files', 'stored', 'file_bytes'] LOOP
		EXECUTE format('DROP POLICY IF EXISTS works ON %I', t);
		EXECUTE format('CREATE POLICY works ON %I TO lapwing_work USING (true) WITH CHECK (true)', t);
	END LOOP;
	-- The queue, where it was made.
	FOR t IN SELECT c.relname FROM pg_class c WHERE c.relnamespace = 'lapwing'::regnamespace AND c.relname LIKE 'river\_%' AND c.relkind IN ('r', 'p') LOOP
		EXECUTE format('GRANT SELECT, INSERT, UPDATE, DELETE ON %I TO lapwing_work', t);
	END LOOP;
	FOR t IN SELECT c.relname FROM pg_class c WHERE c.relnamespace = 'lapwing'::regnamespace AND c.relname LIKE 'river\_%' AND c.relkind = 'S' LOOP
		EXECUTE format('GRANT USAGE, SELECT ON SEQUENCE %I TO lapwing_work', t);
	END LOOP;
END
$$;
GRANT USAGE, SELECT ON ALL SEQUENCES IN SCHEMA lapwing TO lapwing_serve;
