-- Children: the day of birth, from when on somebody is grown up, and consents with their whole history.

-- Given, and perhaps taken back. The newest row of a scope counts, if it is neither taken back nor over, and was given in
-- the same stage of life: what a guardian said for a child doesn't bind the grown-up.
CREATE TABLE consent (
  id TEXT PRIMARY KEY NOT NULL CHECK (length(id) = 36),
  student_id TEXT NOT NULL REFERENCES student (id) ON DELETE CASCADE,
  scope TEXT NOT NULL CHECK (scope IN ('store_pictures', 'share_with_club', 'teach_with')),
  as_junior INTEGER NOT NULL CHECK (as_junior IN (0, 1)), -- was the student a junior when it was recorded?
  said_by TEXT CHECK (length(said_by) BETWEEN 1 AND 200), -- who said yes
  recorded_by TEXT,                                       -- the account; not known of what was kept before
  given_at INTEGER,                                       -- NULL = never given: a no
  expires INTEGER,
  withdrawn_at INTEGER,
  withdrawn_by TEXT,
  CHECK ((said_by IS NULL) = (given_at IS NULL)),
  CHECK (given_at IS NOT NULL OR withdrawn_at IS NOT NULL),
  CHECK ((withdrawn_by IS NULL) = (withdrawn_at IS NULL))
) STRICT, WITHOUT ROWID;
CREATE INDEX consent_by_student ON consent (student_id, scope, id);

-- Built anew: the consent moves out, and SQLite can't drop a column that a check names.
-- adult_from: 18 years after the day of birth (who was born on 29 February: 1 March), at 0:00 UTC. With the year alone, when
-- it is certain: 1 January of the year after. Neither: what `junior` says, which says nothing otherwise.
CREATE TABLE student_2 (
  id TEXT PRIMARY KEY NOT NULL CHECK (length(id) = 36),
  name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 200),
  hand TEXT NOT NULL CHECK (hand IN ('right', 'left')),
  sex TEXT CHECK (sex IN ('female', 'male')),
  birth_date TEXT CHECK (birth_date GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]' AND birth_date = date(birth_date, '+0 days')),
  birth_year INTEGER CHECK (birth_year BETWEEN 1880 AND 2200),
  height_m REAL CHECK (height_m BETWEEN 0.5 AND 2.6),
  handicap REAL CHECK (handicap BETWEEN -10 AND 54),
  tendencies TEXT,
  pain INTEGER NOT NULL DEFAULT 0 CHECK (pain >= 0),
  pain_note TEXT,
  wants TEXT,
  junior INTEGER NOT NULL DEFAULT 0 CHECK (junior IN (0, 1)),
  created INTEGER NOT NULL,
  archived INTEGER,
  version INTEGER NOT NULL DEFAULT 1,
  adult_from INTEGER NOT NULL GENERATED ALWAYS AS (CASE
    WHEN birth_date IS NOT NULL THEN unixepoch(birth_date, '+18 years') * 1000
    WHEN birth_year IS NOT NULL THEN unixepoch(printf('%04d-01-01', birth_year + 19)) * 1000
    WHEN junior THEN 253402300800000 ELSE 0 END) VIRTUAL,
  CHECK (birth_date IS NULL OR birth_year = CAST(substr(birth_date, 1, 4) AS INTEGER))
) STRICT, WITHOUT ROWID;
INSERT INTO student_2 (id, name, hand, sex, birth_year, height_m, handicap, tendencies, pain, pain_note, wants, junior, created,
  archived, version)
  SELECT id, name, hand, sex, birth_year, height_m, handicap, tendencies, pain, pain_note, wants, junior, created, archived,
  version FROM student ORDER BY id;

-- Ids by when the student came, so that whatever is recorded from now on is newer. A name of blanks is nobody's consent, and
-- none was given in the future.
INSERT INTO consent (id, student_id, scope, as_junior, said_by, given_at)
  SELECT substr(printf('%012x', s.created), 1, 8) || '-' || substr(printf('%012x', s.created), 9, 4) || '-7' ||
    substr(lower(hex(randomblob(2))), 2) || '-8' || substr(lower(hex(randomblob(2))), 2) || '-' || lower(hex(randomblob(6))),
    s.id, 'store_pictures', min(s.consent_at, unixepoch() * 1000) < n.adult_from, s.consent_by,
    min(s.consent_at, unixepoch() * 1000)
  FROM student AS s JOIN student_2 AS n ON n.id = s.id WHERE trim(s.consent_by, char(9, 10, 13, 32, 160)) <> '';

DROP TABLE student;
ALTER TABLE student_2 RENAME TO student;

-- The guardian of a junior reads along: also what was written while somebody had called the child grown up.
UPDATE note SET readers = readers | 2 WHERE readers & 1
  AND student_id IN (SELECT id FROM student WHERE junior = 1 OR adult_from > unixepoch() * 1000);
