-- What several coaches of one student tell each other: a student handed over, and whom a message is for.

CREATE TABLE handover (
  id TEXT PRIMARY KEY NOT NULL CHECK (length(id) = 36),
  student_id TEXT NOT NULL REFERENCES student (id) ON DELETE CASCADE,
  from_id TEXT NOT NULL,
  to_id TEXT NOT NULL,
  note TEXT CHECK (length(note) BETWEEN 1 AND 2000),
  stays INTEGER NOT NULL CHECK (stays IN (0, 1)), -- does the former coach stay on the team?
  created INTEGER NOT NULL,
  status TEXT NOT NULL CHECK (status IN ('offered', 'accepted', 'declined')),
  answered_by TEXT,
  answered_at INTEGER,
  reason TEXT CHECK (length(reason) BETWEEN 1 AND 2000),
  version INTEGER NOT NULL DEFAULT 1,
  CHECK ((status = 'offered') = (answered_at IS NULL)),
  CHECK ((answered_by IS NULL) = (answered_at IS NULL))
) STRICT, WITHOUT ROWID;
CREATE INDEX handover_by_student ON handover (student_id, id);
CREATE UNIQUE INDEX handover_offered ON handover (to_id, student_id) WHERE status = 'offered';

-- account_id: for this one alone, on the team or not; NULL = for the team. by_id: whose doing it is. due_at: shown from
-- then on, and its id is of then, so that it stands in its place.
ALTER TABLE inbox ADD COLUMN account_id TEXT REFERENCES account (id) ON DELETE CASCADE;
ALTER TABLE inbox ADD COLUMN by_id TEXT;
ALTER TABLE inbox ADD COLUMN due_at INTEGER;
ALTER TABLE inbox ADD COLUMN handover_id TEXT REFERENCES handover (id) ON DELETE CASCADE;
ALTER TABLE inbox ADD COLUMN fix_id TEXT REFERENCES fix (id) ON DELETE CASCADE;
CREATE INDEX inbox_by_account ON inbox (account_id, id) WHERE account_id IS NOT NULL;
CREATE INDEX inbox_by_handover ON inbox (handover_id) WHERE handover_id IS NOT NULL;
CREATE INDEX inbox_by_fix ON inbox (fix_id) WHERE fix_id IS NOT NULL;

-- What spoke against a fix when it was opened all the same: a list, as JSON.
ALTER TABLE fix ADD COLUMN conflicts TEXT;

-- A coach who leaves takes no tablet along.
CREATE INDEX device_by_enroller ON device (enrolled_by, id) WHERE revoked IS NULL;

-- When a fix is looked at again. One is planned at a time; it ends with the fix.
CREATE TABLE retest (
  id TEXT PRIMARY KEY NOT NULL CHECK (length(id) = 36),
  student_id TEXT NOT NULL REFERENCES student (id) ON DELETE CASCADE,
  fix_id TEXT NOT NULL REFERENCES fix (id) ON DELETE CASCADE,
  begun_at INTEGER NOT NULL, -- the days are counted from then
  due_at INTEGER NOT NULL,
  planned_by TEXT NOT NULL,
  moved_by TEXT,
  moved_at INTEGER,
  moved_reason TEXT CHECK (length(moved_reason) BETWEEN 1 AND 2000),
  ended_at INTEGER,
  version INTEGER NOT NULL DEFAULT 1
) STRICT, WITHOUT ROWID;
CREATE INDEX retest_by_student ON retest (student_id, id);
CREATE INDEX retest_by_fix ON retest (fix_id, id);
CREATE UNIQUE INDEX retest_planned ON retest (fix_id) WHERE ended_at IS NULL;
CREATE INDEX retest_by_due ON retest (due_at, id) WHERE ended_at IS NULL;
ALTER TABLE inbox ADD COLUMN retest_id TEXT REFERENCES retest (id) ON DELETE CASCADE;
CREATE INDEX inbox_by_retest ON inbox (retest_id) WHERE retest_id IS NOT NULL;
-- Fixes that were open before have theirs when their homework says so; the inbox tells of those from their next change on.
INSERT INTO retest (id, student_id, fix_id, begun_at, due_at, planned_by)
SELECT substr(printf('%012x', f.opened_at), 1, 8) || '-' || substr(printf('%012x', f.opened_at), 9, 4) || '-7' ||
  substr(lower(hex(randomblob(2))), 2) || '-8' || substr(lower(hex(randomblob(2))), 2) || '-' || lower(hex(randomblob(6))),
  f.student_id, f.id, min(h.created), max(h.retest_at), f.opened_by
FROM fix AS f JOIN homework AS h ON h.fix_id = f.id AND h.ended IS NULL WHERE f.status = 'open' GROUP BY f.id;
