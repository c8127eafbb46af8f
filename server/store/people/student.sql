-- Students, their teams, and forgetting a student for good.

-- part: now_ms
(unixepoch() * 1000)

-- part: is_junior
(s.adult_from > {now_ms})

-- part: select_student
SELECT s.id, s.name, s.hand, s.sex, s.birth_year, s.height_m, s.handicap, s.tendencies, s.pain,
  s.pain_note, s.wants, s.created, s.archived, s.version, s.birth_date, s.adult_from, {now_ms},
  c.id, c.said_by, c.given_at, c.withdrawn_at, c.expires, c.as_junior, s.member_number, s.email,
  s.phone

-- Now in milliseconds, for what waits a second is missed by whoever asks for the changes since.
-- part: this_moment
CAST(round((julianday('now') - 2440587.5) * 86400000) AS INTEGER)

-- part: student_narrowed
AND (?3 IS NULL OR name_has(s.name, ?3))
  AND (?4 = 0 OR (s.archived IS NOT NULL) = (?4 > 0))
  AND s.updated_at >= ?5

-- name: STUDENT_INSERT :exec
INSERT INTO student (
  id, name, hand, sex, birth_year, height_m, handicap, tendencies, pain, pain_note, wants, junior,
  birth_date, archived, member_number, email, phone, created, updated_at
)
VALUES (
  ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16, ?17, ?18, {this_moment}
);

-- name: STUDENT_BY_ID :one
{select_student}
FROM student AS s
{join_pictures_consent}
WHERE s.id = ?1;

-- name: STUDENT_UPDATE :exec
UPDATE student
SET name = ?2, hand = ?3, sex = ?4, birth_year = ?5, height_m = ?6, handicap = ?7, tendencies = ?8,
  pain = ?9, pain_note = ?10, wants = ?11, junior = ?12, birth_date = ?13, archived = ?14,
  member_number = ?15, email = ?16, phone = ?17, updated_at = {this_moment}, version = version + 1
WHERE id = ?1
  AND version = ?18;

-- name: STUDENT_TOUCH :exec
UPDATE student
SET updated_at = {this_moment}
WHERE id = ?1;

-- name: STUDENT_EXISTS :one
SELECT 1
FROM student
WHERE id = ?1;

-- name: STUDENT_LIST :many
-- which ones by the short rows of an index, the page's alone by their own
{select_student}
FROM student AS s
{join_pictures_consent}
WHERE s.id IN (
    SELECT s.id
    FROM student AS s INDEXED BY student_listed
    WHERE s.id > ?1
      {student_narrowed}
    ORDER BY s.id
    LIMIT ?2
  )
ORDER BY s.id;

-- name: STUDENT_LIST_UPDATED :many
-- the few that were changed since then first
{select_student}
FROM student AS s INDEXED BY student_by_updated
{join_pictures_consent}
WHERE s.id > ?1
  {student_narrowed}
ORDER BY s.id
LIMIT ?2;

-- name: STUDENT_LIST_TEAM :many
{select_student}
FROM team AS t
CROSS JOIN student AS s ON s.id = t.student_id
{join_pictures_consent}
WHERE t.account_id = ?6
  AND t.student_id > ?1
  {student_narrowed}
ORDER BY t.student_id
LIMIT ?2;

-- name: STUDENT_LAST_GUARDIAN :one
-- one of the guardians of ?1 who stand for nobody else
SELECT g.account_id
FROM guardian AS g
CROSS JOIN account AS a ON a.id = g.account_id
WHERE g.student_id = ?1
  AND a.role = 'guardian'
  AND NOT EXISTS (
    SELECT 1
    FROM guardian AS o
    WHERE o.account_id = g.account_id
      AND o.student_id <> ?1
  )
LIMIT 1;

-- name: STUDENT_ERASE_OWN_ANSWERS :exec
DELETE FROM idempotency
WHERE principal IN (SELECT id FROM account WHERE student_id = ?1);

-- name: STUDENT_ERASE_DETAILS :exec
UPDATE audit
SET detail = NULL
WHERE student_id = ?1
  AND detail IS NOT NULL;

-- name: STUDENT_ERASE :exec
DELETE FROM student
WHERE id = ?1;

-- name: STUDENT_TEAM_ADD :exec
INSERT INTO team (account_id, student_id, created)
VALUES (?1, ?2, ?3)
ON CONFLICT (account_id, student_id) DO NOTHING;

-- name: STUDENT_TEAM_REMOVE :exec
DELETE FROM team
WHERE account_id = ?1
  AND student_id = ?2;

-- name: STUDENT_TEAM_MAY :one
SELECT 1
FROM team
WHERE account_id = ?1
  AND student_id = ?2;

-- name: STUDENT_TEAM_LIST :many
SELECT account_id
FROM team
WHERE student_id = ?1
ORDER BY account_id
LIMIT ?2;

-- name: STUDENT_TEAM_COACHES :many
SELECT a.id, a.name
FROM team AS t
CROSS JOIN account AS a ON a.id = t.account_id
WHERE t.student_id = ?1
  AND a.disabled IS NULL
ORDER BY t.account_id
LIMIT ?2;

-- name: STUDENT_LEFT :many
-- of the team of ?1; covered: nobody needs to be found, for another coach in use is there, or the student is archived
SELECT t.student_id, s.name,
  s.archived IS NOT NULL OR EXISTS (
    SELECT 1
    FROM team AS o
    CROSS JOIN account AS a ON a.id = o.account_id
    WHERE o.student_id = t.student_id
      AND o.account_id <> ?1
      AND a.disabled IS NULL
  )
FROM team AS t
CROSS JOIN student AS s ON s.id = t.student_id
WHERE t.account_id = ?1
ORDER BY t.student_id
LIMIT ?2;

-- name: STUDENT_LEAVE :exec
DELETE FROM team
WHERE account_id = ?1;
