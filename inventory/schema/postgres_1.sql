-- The shelf ledger on PostgreSQL: the same tables and laws as sqlite_1.sql, and one row that says
-- what they are and of which version, which an SQLite file has in its header.

CREATE TABLE shelf (version integer NOT NULL);
INSERT INTO shelf VALUES (1);

CREATE TABLE request (
    seq bigint PRIMARY KEY,
    key text COLLATE "C" NOT NULL UNIQUE CHECK (key <> ''),
    at text NOT NULL,
    who text NOT NULL,
    why text NOT NULL,
    first bigint NOT NULL,
    last bigint NOT NULL CHECK (last >= first),
    link text NOT NULL
);

CREATE TABLE lot (
    id text COLLATE "C" PRIMARY KEY,
    family text COLLATE "C" NOT NULL,
    size text COLLATE "C" NOT NULL,
    thickness text COLLATE "C" NOT NULL,
    condition text COLLATE "C" NOT NULL CHECK (condition IN ('new', 'used')),
    bin text COLLATE "C" NOT NULL,
    label text COLLATE "C" NOT NULL
);

CREATE TABLE entry (
    seq bigint PRIMARY KEY,
    request bigint NOT NULL REFERENCES request (seq),
    kind text NOT NULL,
    lot text COLLATE "C" NOT NULL REFERENCES lot (id),
    job text COLLATE "C" NOT NULL,
    number bigint NOT NULL CHECK (number >= CASE kind WHEN 'count' THEN 0 ELSE 1 END),
    change bigint NOT NULL,
    holds bigint NOT NULL CHECK (holds = 0 OR job <> ''),
    on_hand bigint NOT NULL CHECK (on_hand >= 0),
    reserved bigint NOT NULL CHECK (reserved BETWEEN 0 AND on_hand),
    held bigint NOT NULL CHECK (held BETWEEN 0 AND CASE job WHEN '' THEN 0 ELSE reserved END),
    CHECK (CASE kind
        WHEN 'receive' THEN change = number AND holds = 0
        WHEN 'return' THEN change = number AND holds = 0
        WHEN 'count' THEN on_hand = number AND holds = 0
        WHEN 'reserve' THEN change = 0 AND holds = number
        WHEN 'release' THEN change = 0 AND holds = -number
        WHEN 'issue' THEN change = -number AND holds IN (0, -number)
        WHEN 'scrap' THEN change = -number AND holds = 0
        ELSE false END)
);

CREATE INDEX entry_of_lot ON entry (lot, seq);
CREATE INDEX entry_of_job ON entry (job, lot, seq) WHERE job <> '';

CREATE FUNCTION request_follows() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF NEW.seq <> (SELECT coalesce(max(seq), 0) + 1 FROM request)
        OR NEW.first <> (SELECT coalesce(max(seq), 0) + 1 FROM entry)
        OR NEW.first <> coalesce((SELECT last + 1 FROM request WHERE seq = NEW.seq - 1), 1)
    THEN RAISE EXCEPTION 'a request must follow the one before';
    END IF;
    RETURN NEW;
END $$;

CREATE FUNCTION entry_follows() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    before entry;
    held_before bigint := 0;
BEGIN
    SELECT * INTO before FROM entry WHERE lot = NEW.lot ORDER BY seq DESC LIMIT 1;
    IF NEW.job <> '' THEN
        SELECT held INTO held_before FROM entry
        WHERE job = NEW.job AND job <> '' AND lot = NEW.lot ORDER BY seq DESC LIMIT 1;
    END IF;
    IF NOT coalesce((
            SELECT seq = NEW.request AND NEW.seq BETWEEN first AND last
            FROM request ORDER BY seq DESC LIMIT 1), false)
        OR NEW.seq <= coalesce(before.seq, 0)
        OR NEW.on_hand - NEW.change <> coalesce(before.on_hand, 0)
        OR NEW.reserved - NEW.holds <> coalesce(before.reserved, 0)
        OR NEW.held - NEW.holds <> coalesce(held_before, 0)
    THEN RAISE EXCEPTION 'an entry must follow the one before';
    END IF;
    RETURN NEW;
END $$;

CREATE FUNCTION only_added_to() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'the ledger is only added to';
END $$;

CREATE TRIGGER request_follows BEFORE INSERT ON request
    FOR EACH ROW EXECUTE FUNCTION request_follows();
CREATE TRIGGER entry_follows BEFORE INSERT ON entry
    FOR EACH ROW EXECUTE FUNCTION entry_follows();
CREATE TRIGGER request_stays BEFORE UPDATE OR DELETE OR TRUNCATE ON request
    FOR EACH STATEMENT EXECUTE FUNCTION only_added_to();
CREATE TRIGGER lot_stays BEFORE UPDATE OR DELETE OR TRUNCATE ON lot
    FOR EACH STATEMENT EXECUTE FUNCTION only_added_to();
CREATE TRIGGER entry_stays BEFORE UPDATE OR DELETE OR TRUNCATE ON entry
    FOR EACH STATEMENT EXECUTE FUNCTION only_added_to();
