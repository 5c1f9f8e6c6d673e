-- Notes on PostgreSQL: the same table and laws as sqlite_2.sql.

ALTER TABLE request DROP CONSTRAINT request_check;
ALTER TABLE request ADD CONSTRAINT request_check CHECK (last >= first - 1);

CREATE TABLE note (
    seq bigint PRIMARY KEY,
    request bigint NOT NULL REFERENCES request (seq),
    kind text COLLATE "C" NOT NULL CHECK (kind <> ''),
    about text COLLATE "C" NOT NULL CHECK (about <> ''),
    text text NOT NULL
);

CREATE INDEX note_of_request ON note (request);
CREATE INDEX note_about ON note (kind, about, seq);

CREATE FUNCTION note_follows() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF NEW.seq <> (SELECT coalesce(max(seq), 0) + 1 FROM note)
        OR NEW.request <> (SELECT coalesce(max(seq), 0) FROM request)
    THEN RAISE EXCEPTION 'a note must follow the one before';
    END IF;
    RETURN NEW;
END $$;

CREATE TRIGGER note_follows BEFORE INSERT ON note
    FOR EACH ROW EXECUTE FUNCTION note_follows();
CREATE TRIGGER note_stays BEFORE UPDATE OR DELETE OR TRUNCATE ON note
    FOR EACH STATEMENT EXECUTE FUNCTION only_added_to();
