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
