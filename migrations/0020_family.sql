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
