-- The standard's versions and what is done by them: how many swings each has judged, counted as reports come and go; and the
-- work in the background, a trial of another standard or scoring anew, with how far it has come.

CREATE TABLE standard_tally (
  standard INTEGER PRIMARY KEY REFERENCES standard (number),
  swings INTEGER NOT NULL -- that have a report by it
) STRICT;

INSERT INTO standard_tally (standard, swings)
  SELECT standard, count(DISTINCT swing_id) FROM report WHERE swing_id IS NOT NULL GROUP BY standard;

-- A second report on a swing by the same version (its marks were corrected) is not a second swing.
CREATE TRIGGER report_made AFTER INSERT ON report
WHEN NEW.swing_id IS NOT NULL AND NOT EXISTS (
  SELECT 1 FROM report WHERE swing_id = NEW.swing_id AND number <> NEW.number AND standard = NEW.standard) BEGIN
  INSERT INTO standard_tally (standard, swings) VALUES (NEW.standard, 1)
    ON CONFLICT (standard) DO UPDATE SET swings = swings + 1;
END;
CREATE TRIGGER report_gone AFTER DELETE ON report
WHEN OLD.swing_id IS NOT NULL AND NOT EXISTS (
  SELECT 1 FROM report WHERE swing_id = OLD.swing_id AND standard = OLD.standard) BEGIN
  UPDATE standard_tally SET swings = swings - 1 WHERE standard = OLD.standard;
END;

-- The newest alone is kept; one runs at a time.
CREATE TABLE standard_job (
  id TEXT PRIMARY KEY NOT NULL CHECK (length(id) = 36),
  kind TEXT NOT NULL CHECK (kind IN ('trial', 'rescore')),
  state TEXT NOT NULL CHECK (state IN ('running', 'done', 'stopped', 'overtaken', 'failed')),
  started_by TEXT NOT NULL,
  started INTEGER NOT NULL,
  ended INTEGER,
  standard INTEGER NOT NULL REFERENCES standard (number), -- in force when it began
  tried TEXT, -- the document that is tried
  label TEXT, -- its name
  total INTEGER NOT NULL DEFAULT 0, -- swings and lessons to go through; 0 = not counted yet
  done INTEGER NOT NULL DEFAULT 0, -- of them: gone through
  swings_until TEXT NOT NULL DEFAULT '', -- what came later is judged by the standard in force anyway
  lessons_until TEXT NOT NULL DEFAULT '',
  swing_place TEXT NOT NULL DEFAULT '', -- the last one gone through
  lesson_place TEXT NOT NULL DEFAULT '',
  swings INTEGER NOT NULL DEFAULT 0, -- scored anew
  lessons INTEGER NOT NULL DEFAULT 0,
  unread INTEGER NOT NULL DEFAULT 0,
  tally BLOB, -- of a trial, so far
  CHECK ((kind = 'trial') = (tried IS NOT NULL) AND (kind = 'trial') = (label IS NOT NULL)),
  CHECK ((state = 'running') = (ended IS NULL))
) STRICT, WITHOUT ROWID;
CREATE UNIQUE INDEX standard_job_running ON standard_job (state) WHERE state = 'running';
