-- Lists and the overview of a large club: what a list is narrowed by stands in one short index, in the list's order, and
-- what the head sees of each coach is counted when it changes, not when it is asked for.

-- Names are found anywhere within: short rows to go through, the long ones only for what is found.
CREATE INDEX student_listed ON student (id, name, archived, updated_at);
CREATE INDEX account_listed ON account (id, name, disabled);

-- The last one of a student, told from the index alone.
DROP INDEX swing_by_student;
CREATE INDEX swing_by_student ON swing (student_id, id, received_at);
DROP INDEX lesson_by_student;
CREATE INDEX lesson_by_student ON lesson (student_id, id, held_at);

-- What waits for an account, told from the index alone.
DROP INDEX inbox_by_student;
CREATE INDEX inbox_by_student ON inbox (student_id, account_id, due_at, urgent, id);
DROP INDEX inbox_by_account;
CREATE INDEX inbox_by_account ON inbox (account_id, due_at, urgent, id) WHERE account_id IS NOT NULL;
DROP INDEX inbox_by_head;
CREATE INDEX inbox_by_head ON inbox (head, id, account_id, due_at);

CREATE TABLE coach_tally (
  account_id TEXT PRIMARY KEY NOT NULL REFERENCES account (id) ON DELETE CASCADE,
  students INTEGER NOT NULL, -- on whose team, not archived
  without_fix INTEGER NOT NULL -- of those: no open fix
) STRICT, WITHOUT ROWID;

-- Ticks of the students on whose team, week by week; week = when it began, a Monday.
CREATE TABLE coach_week (
  account_id TEXT NOT NULL REFERENCES account (id) ON DELETE CASCADE,
  week INTEGER NOT NULL,
  ticks INTEGER NOT NULL,
  PRIMARY KEY (account_id, week)
) STRICT, WITHOUT ROWID;

INSERT INTO coach_tally (account_id, students, without_fix)
  SELECT t.account_id, count(*),
    sum(NOT EXISTS (SELECT 1 FROM fix AS f WHERE f.student_id = t.student_id AND f.status = 'open'))
  FROM team AS t JOIN student AS s ON s.id = t.student_id WHERE s.archived IS NULL GROUP BY t.account_id;
INSERT INTO coach_week (account_id, week, ticks)
  SELECT t.account_id, d.done_at - (d.done_at + 259200000) % 604800000, count(*) FROM team AS t
  JOIN homework AS h ON h.student_id = t.student_id JOIN homework_done AS d ON d.homework_id = h.id GROUP BY 1, 2;

CREATE TRIGGER team_joined AFTER INSERT ON team BEGIN
  INSERT INTO coach_tally (account_id, students, without_fix)
    SELECT NEW.account_id, 1, NOT EXISTS (SELECT 1 FROM fix WHERE student_id = NEW.student_id AND status = 'open')
    FROM student WHERE id = NEW.student_id AND archived IS NULL
    ON CONFLICT (account_id) DO UPDATE
    SET students = students + 1, without_fix = without_fix + excluded.without_fix;
  INSERT INTO coach_week (account_id, week, ticks)
    SELECT NEW.account_id, d.done_at - (d.done_at + 259200000) % 604800000, count(*)
    FROM homework AS h CROSS JOIN homework_done AS d ON d.homework_id = h.id
    WHERE h.student_id = NEW.student_id GROUP BY 2
    ON CONFLICT (account_id, week) DO UPDATE SET ticks = ticks + excluded.ticks;
END;

CREATE TRIGGER team_left AFTER DELETE ON team BEGIN
  UPDATE coach_tally SET students = students - 1, without_fix = without_fix
    - NOT EXISTS (SELECT 1 FROM fix WHERE student_id = OLD.student_id AND status = 'open')
    WHERE account_id = OLD.account_id
    AND EXISTS (SELECT 1 FROM student WHERE id = OLD.student_id AND archived IS NULL);
  UPDATE coach_week SET ticks = ticks - (SELECT count(*)
      FROM homework AS h CROSS JOIN homework_done AS d ON d.homework_id = h.id
      WHERE h.student_id = OLD.student_id AND d.done_at >= week AND d.done_at < week + 604800000)
    WHERE account_id = OLD.account_id;
END;

-- What is counted of a student leaves the tallies while it is all there: the team before the student, ticks before
-- their homework.
CREATE TRIGGER student_goes BEFORE DELETE ON student BEGIN
  DELETE FROM team WHERE student_id = OLD.id;
END;
CREATE TRIGGER homework_goes BEFORE DELETE ON homework BEGIN
  DELETE FROM homework_done WHERE homework_id = OLD.id;
END;

CREATE TRIGGER student_archived AFTER UPDATE OF archived ON student
WHEN (OLD.archived IS NULL) <> (NEW.archived IS NULL) BEGIN
  INSERT INTO coach_tally (account_id, students, without_fix)
    SELECT account_id, iif(NEW.archived IS NULL, 1, -1), iif(NEW.archived IS NULL, 1, -1)
      * NOT EXISTS (SELECT 1 FROM fix WHERE student_id = NEW.id AND status = 'open')
    FROM team WHERE student_id = NEW.id
    ON CONFLICT (account_id) DO UPDATE
    SET students = students + excluded.students, without_fix = without_fix + excluded.without_fix;
END;

-- Only a student's first open fix and the last one count.
CREATE TRIGGER fix_opened AFTER INSERT ON fix
WHEN NEW.status = 'open'
  AND (SELECT count(*) FROM fix WHERE student_id = NEW.student_id AND status = 'open') = 1 BEGIN
  UPDATE coach_tally SET without_fix = without_fix - 1
    WHERE account_id IN (SELECT account_id FROM team WHERE student_id = NEW.student_id)
    AND EXISTS (SELECT 1 FROM student WHERE id = NEW.student_id AND archived IS NULL);
END;
CREATE TRIGGER fix_turned AFTER UPDATE OF status ON fix
WHEN (OLD.status = 'open') <> (NEW.status = 'open')
  AND (SELECT count(*) FROM fix WHERE student_id = NEW.student_id AND status = 'open') = (NEW.status = 'open') BEGIN
  UPDATE coach_tally SET without_fix = without_fix + iif(NEW.status = 'open', -1, 1)
    WHERE account_id IN (SELECT account_id FROM team WHERE student_id = NEW.student_id)
    AND EXISTS (SELECT 1 FROM student WHERE id = NEW.student_id AND archived IS NULL);
END;
CREATE TRIGGER fix_gone AFTER DELETE ON fix
WHEN OLD.status = 'open'
  AND NOT EXISTS (SELECT 1 FROM fix WHERE student_id = OLD.student_id AND status = 'open') BEGIN
  UPDATE coach_tally SET without_fix = without_fix + 1
    WHERE account_id IN (SELECT account_id FROM team WHERE student_id = OLD.student_id)
    AND EXISTS (SELECT 1 FROM student WHERE id = OLD.student_id AND archived IS NULL);
END;

CREATE TRIGGER homework_ticked AFTER INSERT ON homework_done BEGIN
  INSERT INTO coach_week (account_id, week, ticks)
    SELECT t.account_id, NEW.done_at - (NEW.done_at + 259200000) % 604800000, 1
    FROM homework AS h CROSS JOIN team AS t ON t.student_id = h.student_id WHERE h.id = NEW.homework_id
    ON CONFLICT (account_id, week) DO UPDATE SET ticks = ticks + 1;
END;
CREATE TRIGGER homework_unticked AFTER DELETE ON homework_done BEGIN
  UPDATE coach_week SET ticks = ticks - 1 WHERE week = OLD.done_at - (OLD.done_at + 259200000) % 604800000
    AND account_id IN (SELECT t.account_id FROM homework AS h CROSS JOIN team AS t ON t.student_id = h.student_id
      WHERE h.id = OLD.homework_id);
END;
