-- What waits for whom: pain told is no session done, and whose student it was stands beside who handed the student over.

-- Told of pain and nothing of what came off: that is a message, not a session.
ALTER TABLE homework_done ADD COLUMN is_session INTEGER
  GENERATED ALWAYS AS (pain_area IS NULL OR passed IS NOT NULL) VIRTUAL;

DROP TRIGGER team_joined;
CREATE TRIGGER team_joined AFTER INSERT ON team BEGIN
  INSERT INTO coach_tally (account_id, students, without_fix)
    SELECT NEW.account_id, 1, NOT EXISTS (SELECT 1 FROM fix WHERE student_id = NEW.student_id AND status = 'open')
    FROM student WHERE id = NEW.student_id AND archived IS NULL
    ON CONFLICT (account_id) DO UPDATE
    SET students = students + 1, without_fix = without_fix + excluded.without_fix;
  INSERT INTO coach_week (account_id, week, ticks)
    SELECT NEW.account_id, d.done_at - (d.done_at + 259200000) % 604800000, count(*)
    FROM homework AS h CROSS JOIN homework_done AS d ON d.homework_id = h.id
    WHERE h.student_id = NEW.student_id AND d.is_session GROUP BY 2
    ON CONFLICT (account_id, week) DO UPDATE SET ticks = ticks + excluded.ticks;
END;
DROP TRIGGER team_left;
CREATE TRIGGER team_left AFTER DELETE ON team BEGIN
  UPDATE coach_tally SET students = students - 1, without_fix = without_fix
    - NOT EXISTS (SELECT 1 FROM fix WHERE student_id = OLD.student_id AND status = 'open')
    WHERE account_id = OLD.account_id
    AND EXISTS (SELECT 1 FROM student WHERE id = OLD.student_id AND archived IS NULL);
  UPDATE coach_week SET ticks = ticks - (SELECT count(*)
      FROM homework AS h CROSS JOIN homework_done AS d ON d.homework_id = h.id
      WHERE h.student_id = OLD.student_id AND d.is_session AND d.done_at >= week AND d.done_at < week + 604800000)
    WHERE account_id = OLD.account_id;
END;
DROP TRIGGER homework_ticked;
CREATE TRIGGER homework_ticked AFTER INSERT ON homework_done WHEN NEW.is_session BEGIN
  INSERT INTO coach_week (account_id, week, ticks)
    SELECT t.account_id, NEW.done_at - (NEW.done_at + 259200000) % 604800000, 1
    FROM homework AS h CROSS JOIN team AS t ON t.student_id = h.student_id WHERE h.id = NEW.homework_id
    ON CONFLICT (account_id, week) DO UPDATE SET ticks = ticks + 1;
END;
DROP TRIGGER homework_unticked;
CREATE TRIGGER homework_unticked AFTER DELETE ON homework_done WHEN OLD.is_session BEGIN
  UPDATE coach_week SET ticks = ticks - 1 WHERE week = OLD.done_at - (OLD.done_at + 259200000) % 604800000
    AND account_id IN (SELECT t.account_id FROM homework AS h CROSS JOIN team AS t ON t.student_id = h.student_id
      WHERE h.id = OLD.homework_id);
END;
DELETE FROM coach_week;
INSERT INTO coach_week (account_id, week, ticks)
  SELECT t.account_id, d.done_at - (d.done_at + 259200000) % 604800000, count(*) FROM team AS t
  JOIN homework AS h ON h.student_id = t.student_id JOIN homework_done AS d ON d.homework_id = h.id
  WHERE d.is_session GROUP BY 1, 2;

-- Who offered it; NULL = from_id.
ALTER TABLE handover ADD COLUMN offered_by TEXT;

-- A yes that was asked for: answered by the consent that was then given or refused.
CREATE TABLE consent_request (
  id TEXT PRIMARY KEY NOT NULL CHECK (length(id) = 36),
  student_id TEXT NOT NULL REFERENCES student (id) ON DELETE CASCADE,
  scope TEXT NOT NULL CHECK (scope IN ('store_pictures', 'share_with_club', 'teach_with')),
  note TEXT CHECK (length(note) BETWEEN 1 AND 2000),
  asked_by TEXT NOT NULL,
  asked_at INTEGER NOT NULL,
  answered_at INTEGER,
  consent_id TEXT, -- the answer
  CHECK ((answered_at IS NULL) = (consent_id IS NULL))
) STRICT, WITHOUT ROWID;
CREATE INDEX consent_request_by_student ON consent_request (student_id, id);
CREATE UNIQUE INDEX consent_request_open ON consent_request (student_id, scope) WHERE answered_at IS NULL;
CREATE INDEX consent_request_by_answer ON consent_request (consent_id) WHERE consent_id IS NOT NULL;
ALTER TABLE inbox ADD COLUMN request_id TEXT REFERENCES consent_request (id) ON DELETE CASCADE;
CREATE INDEX inbox_by_request ON inbox (request_id) WHERE request_id IS NOT NULL;

-- What waits a week for its answer stands in the team's inbox until it has one; who asked is told what was said.
CREATE TRIGGER consent_asked AFTER INSERT ON consent_request BEGIN
  INSERT INTO inbox (id, student_id, kind, urgent, head, created, by_id, due_at, request_id)
    SELECT substr(printf('%012x', due), 1, 8) || '-' || substr(printf('%012x', due), 9, 4) || '-7' ||
      substr(lower(hex(randomblob(2))), 2) || '-8' || substr(lower(hex(randomblob(2))), 2) || '-' || lower(hex(randomblob(6))),
      NEW.student_id, 'consent_request', 0, 0, NEW.asked_at, NEW.asked_by, due, NEW.id
    FROM (SELECT NEW.asked_at + 604800000 AS due);
END;
CREATE TRIGGER consent_answered AFTER UPDATE OF consent_id ON consent_request BEGIN
  DELETE FROM inbox WHERE request_id = NEW.id;
  INSERT INTO inbox (id, student_id, kind, urgent, head, created, account_id, by_id, request_id)
    SELECT substr(printf('%012x', NEW.answered_at), 1, 8) || '-' || substr(printf('%012x', NEW.answered_at), 9, 4) || '-7' ||
      substr(lower(hex(randomblob(2))), 2) || '-8' || substr(lower(hex(randomblob(2))), 2) || '-' || lower(hex(randomblob(6))),
      NEW.student_id, 'consent_answered', 0, 0, NEW.answered_at, NEW.asked_by, coalesce(c.withdrawn_by, c.recorded_by), NEW.id
    FROM consent AS c
    WHERE c.id = NEW.consent_id AND coalesce(c.withdrawn_by, c.recorded_by) IS NOT NEW.asked_by
      AND EXISTS (SELECT 1 FROM account WHERE id = NEW.asked_by);
END;
CREATE TRIGGER consent_given AFTER INSERT ON consent BEGIN
  UPDATE consent_request SET consent_id = NEW.id,
    answered_at = coalesce(NEW.withdrawn_at, CAST(round((julianday('now') - 2440587.5) * 86400000) AS INTEGER))
    WHERE student_id = NEW.student_id AND scope = NEW.scope AND answered_at IS NULL;
  DELETE FROM inbox WHERE student_id = NEW.student_id AND kind = 'of_age' AND due_at <= unixepoch() * 1000
    AND NEW.scope = 'store_pictures';
END;
CREATE TRIGGER consent_withdrawn AFTER UPDATE OF withdrawn_at ON consent WHEN NEW.withdrawn_at IS NOT NULL BEGIN
  UPDATE consent_request SET answered_at = NEW.withdrawn_at, consent_id = NEW.id
    WHERE student_id = NEW.student_id AND scope = NEW.scope AND answered_at IS NULL;
  DELETE FROM inbox WHERE student_id = NEW.student_id AND kind = 'of_age' AND due_at <= unixepoch() * 1000
    AND NEW.scope = 'store_pictures';
END;

-- Who comes of age stands in the inbox sixty days before, and on the day until the student's own word is known.
CREATE VIEW age_item AS
  SELECT s.id AS student_id, k.kind, max(s.adult_from - k.before, unixepoch() * 1000) AS due
  FROM student AS s CROSS JOIN (SELECT 'coming_of_age' AS kind, 5184000000 AS before UNION ALL SELECT 'of_age', 0) AS k
  WHERE s.archived IS NULL AND s.adult_from > unixepoch() * 1000 AND s.adult_from < 253402300800000;
CREATE TRIGGER student_aged AFTER INSERT ON student BEGIN
  INSERT INTO inbox (id, student_id, kind, urgent, head, created, due_at)
    SELECT substr(printf('%012x', due), 1, 8) || '-' || substr(printf('%012x', due), 9, 4) || '-7' ||
      substr(lower(hex(randomblob(2))), 2) || '-8' || substr(lower(hex(randomblob(2))), 2) || '-' || lower(hex(randomblob(6))),
      student_id, kind, 0, 0, due, due
    FROM age_item WHERE student_id = NEW.id;
END;
CREATE TRIGGER student_age_known AFTER UPDATE OF birth_date, birth_year, junior, archived ON student
WHEN OLD.adult_from <> NEW.adult_from OR (OLD.archived IS NULL) <> (NEW.archived IS NULL) BEGIN
  DELETE FROM inbox WHERE student_id = NEW.id AND kind IN ('coming_of_age', 'of_age');
  INSERT INTO inbox (id, student_id, kind, urgent, head, created, due_at)
    SELECT substr(printf('%012x', due), 1, 8) || '-' || substr(printf('%012x', due), 9, 4) || '-7' ||
      substr(lower(hex(randomblob(2))), 2) || '-8' || substr(lower(hex(randomblob(2))), 2) || '-' || lower(hex(randomblob(6))),
      student_id, kind, 0, 0, due, due
    FROM age_item WHERE student_id = NEW.id;
END;
INSERT INTO inbox (id, student_id, kind, urgent, head, created, due_at)
  SELECT substr(printf('%012x', due), 1, 8) || '-' || substr(printf('%012x', due), 9, 4) || '-7' ||
    substr(lower(hex(randomblob(2))), 2) || '-8' || substr(lower(hex(randomblob(2))), 2) || '-' || lower(hex(randomblob(6))),
    student_id, kind, 0, 0, due, due
  FROM age_item;
