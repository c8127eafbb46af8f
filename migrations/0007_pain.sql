-- One thing at a time, pain told with homework, and what waits for a coach.

-- Of two open fixes the second waits (waits = 1) until the first has ended, or a coach says why both run (together).
ALTER TABLE fix ADD COLUMN waits INTEGER NOT NULL DEFAULT 0 CHECK (waits IN (0, 1));
ALTER TABLE fix ADD COLUMN together TEXT;
-- Where two ran at once, the older one goes on and the newer one waits with all it had.
UPDATE fix SET waits = 1, version = version + 1 WHERE status = 'open' AND EXISTS (SELECT 1 FROM fix AS o
  WHERE o.student_id = fix.student_id AND o.status = 'open' AND (o.opened_at, o.id) < (fix.opened_at, fix.id));
-- Why a report was overruled is between coaches: it stood in the family's field as well.
UPDATE fix_event SET reason = NULL WHERE status = 'open'
  AND reason = (SELECT f.overrule FROM fix AS f WHERE f.id = fix_event.fix_id);
UPDATE fix SET reason = NULL WHERE reason = overrule;

-- word_pain: the sore areas that a coach knew of when he gave his word for this drill (bits).
ALTER TABLE homework ADD COLUMN word_pain INTEGER NOT NULL DEFAULT 0 CHECK (word_pain >= 0);
ALTER TABLE homework ADD COLUMN paused_at INTEGER;
ALTER TABLE homework ADD COLUMN paused_area INTEGER CHECK (paused_area > 0);
ALTER TABLE homework ADD COLUMN paused_level INTEGER CHECK (paused_level BETWEEN 0 AND 10);
ALTER TABLE homework ADD COLUMN resumed_at INTEGER;
ALTER TABLE homework ADD COLUMN resumed_by TEXT;
ALTER TABLE homework ADD COLUMN resumed_reason TEXT;
UPDATE homework SET word_pain = (SELECT s.pain FROM student AS s WHERE s.id = homework.student_id)
  WHERE confirmed IS NOT NULL;

ALTER TABLE homework_done ADD COLUMN passed INTEGER CHECK (passed BETWEEN 0 AND 1000);
ALTER TABLE homework_done ADD COLUMN passed_of INTEGER CHECK (passed_of BETWEEN 1 AND 1000);
ALTER TABLE homework_done ADD COLUMN pain_area INTEGER CHECK (pain_area > 0);
ALTER TABLE homework_done ADD COLUMN pain_level INTEGER CHECK (pain_level BETWEEN 0 AND 10);

-- What waits for a student's coaches. urgent: before all else for the team; head: for the head as well.
CREATE TABLE inbox (
  id TEXT PRIMARY KEY NOT NULL CHECK (length(id) = 36),
  student_id TEXT NOT NULL REFERENCES student (id) ON DELETE CASCADE,
  kind TEXT NOT NULL CHECK (length(kind) BETWEEN 1 AND 32),
  done_id TEXT REFERENCES homework_done (id) ON DELETE CASCADE,
  urgent INTEGER NOT NULL CHECK (urgent IN (0, 1)),
  head INTEGER NOT NULL CHECK (head IN (0, 1)),
  created INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX inbox_by_student ON inbox (student_id, urgent, id);
CREATE INDEX inbox_by_head ON inbox (head, id);
CREATE INDEX inbox_by_done ON inbox (done_id) WHERE done_id IS NOT NULL;
CREATE TABLE inbox_seen (
  inbox_id TEXT NOT NULL REFERENCES inbox (id) ON DELETE CASCADE,
  account_id TEXT NOT NULL REFERENCES account (id) ON DELETE CASCADE,
  at INTEGER NOT NULL,
  PRIMARY KEY (inbox_id, account_id)
) STRICT, WITHOUT ROWID;
CREATE INDEX inbox_seen_by_account ON inbox_seen (account_id);
