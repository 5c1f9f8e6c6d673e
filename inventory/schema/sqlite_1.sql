-- The shelf ledger: rows are added and never altered. Every entry carries how its lot stood
-- afterwards, so a balance is the last entry of its lot, and no entry is taken that does not
-- follow from the one before, whoever writes it.

CREATE TABLE request (
    seq INTEGER PRIMARY KEY,
    key TEXT NOT NULL UNIQUE CHECK (key <> ''),
    at TEXT NOT NULL,
    who TEXT NOT NULL,
    why TEXT NOT NULL,
    first INTEGER NOT NULL,
    last INTEGER NOT NULL CHECK (last >= first),
    link TEXT NOT NULL
) STRICT;

CREATE TABLE lot (
    id TEXT PRIMARY KEY,
    family TEXT NOT NULL,
    size TEXT NOT NULL,
    thickness TEXT NOT NULL,
    condition TEXT NOT NULL CHECK (condition IN ('new', 'used')),
    bin TEXT NOT NULL,
    label TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE entry (
    seq INTEGER PRIMARY KEY,
    request INTEGER NOT NULL REFERENCES request (seq),
    kind TEXT NOT NULL,
    lot TEXT NOT NULL REFERENCES lot (id),
    job TEXT NOT NULL,
    number INTEGER NOT NULL CHECK (number >= (kind <> 'count')),
    change INTEGER NOT NULL,
    holds INTEGER NOT NULL CHECK (holds = 0 OR job <> ''),
    on_hand INTEGER NOT NULL CHECK (on_hand >= 0),
    reserved INTEGER NOT NULL CHECK (reserved BETWEEN 0 AND on_hand),
    held INTEGER NOT NULL CHECK (held BETWEEN 0 AND reserved * (job <> '')),
    CHECK (CASE kind
        WHEN 'receive' THEN change = number AND holds = 0
        WHEN 'return' THEN change = number AND holds = 0
        WHEN 'count' THEN on_hand = number AND holds = 0
        WHEN 'reserve' THEN change = 0 AND holds = number
        WHEN 'release' THEN change = 0 AND holds = -number
        WHEN 'issue' THEN change = -number AND holds IN (0, -number)
        WHEN 'scrap' THEN change = -number AND holds = 0
        ELSE 0 END)
) STRICT;

CREATE INDEX entry_of_lot ON entry (lot, seq);
CREATE INDEX entry_of_job ON entry (job, lot, seq) WHERE job <> '';

CREATE TRIGGER request_follows BEFORE INSERT ON request BEGIN
    SELECT RAISE(ABORT, 'a request must follow the one before') WHERE
        NEW.seq <> (SELECT coalesce(max(seq), 0) + 1 FROM request)
        OR NEW.first <> (SELECT coalesce(max(seq), 0) + 1 FROM entry)
        OR NEW.first <> coalesce((SELECT last + 1 FROM request WHERE seq = NEW.seq - 1), 1);
    SELECT RAISE(ABORT, 'a key is posted once') WHERE
        EXISTS (SELECT 1 FROM request WHERE key = NEW.key);
END;

CREATE TRIGGER lot_is_new BEFORE INSERT ON lot BEGIN
    SELECT RAISE(ABORT, 'a lot is written once') WHERE EXISTS (SELECT 1 FROM lot WHERE id = NEW.id);
END;

CREATE TRIGGER entry_follows BEFORE INSERT ON entry BEGIN
    SELECT RAISE(ABORT, 'an entry must follow the one before') WHERE
        NOT EXISTS (SELECT 1 FROM lot WHERE id = NEW.lot)
        OR NOT coalesce((
            SELECT seq = NEW.request AND NEW.seq BETWEEN first AND last
            FROM request ORDER BY seq DESC LIMIT 1), 0)
        OR NOT coalesce((
            SELECT seq < NEW.seq AND on_hand = NEW.on_hand - NEW.change
                AND reserved = NEW.reserved - NEW.holds
            FROM entry WHERE lot = NEW.lot ORDER BY seq DESC LIMIT 1),
            NEW.on_hand = NEW.change AND NEW.reserved = NEW.holds)
        OR NEW.job <> '' AND NEW.held - NEW.holds <> coalesce((
            SELECT held FROM entry WHERE job = NEW.job AND job <> '' AND lot = NEW.lot
            ORDER BY seq DESC LIMIT 1), 0);
END;

CREATE TRIGGER request_stays BEFORE UPDATE ON request BEGIN
    SELECT RAISE(ABORT, 'the ledger is only added to');
END;
CREATE TRIGGER request_remains BEFORE DELETE ON request BEGIN
    SELECT RAISE(ABORT, 'the ledger is only added to');
END;
CREATE TRIGGER lot_stays BEFORE UPDATE ON lot BEGIN
    SELECT RAISE(ABORT, 'the ledger is only added to');
END;
CREATE TRIGGER lot_remains BEFORE DELETE ON lot BEGIN
    SELECT RAISE(ABORT, 'the ledger is only added to');
END;
CREATE TRIGGER entry_stays BEFORE UPDATE ON entry BEGIN
    SELECT RAISE(ABORT, 'the ledger is only added to');
END;
CREATE TRIGGER entry_remains BEFORE DELETE ON entry BEGIN
    SELECT RAISE(ABORT, 'the ledger is only added to');
END;
