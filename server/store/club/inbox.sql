-- What waits for a student's coaches.

-- part: join_inbox
CROSS JOIN student AS s ON s.id = i.student_id
LEFT JOIN homework_done AS d ON d.id = i.done_id
LEFT JOIN homework AS h ON h.id = d.homework_id
LEFT JOIN drill AS r ON r.id = h.drill_id
LEFT JOIN fix AS f ON f.id = h.fix_id

-- part: unseen
NOT EXISTS (SELECT 1 FROM inbox_seen AS n WHERE n.inbox_id = i.id AND n.account_id = ?1)

-- part: from_team_inbox
FROM team AS t
CROSS JOIN inbox AS i ON i.student_id = t.student_id

-- name: INBOX_INSERT :exec
-- head: urgent, and either asked for (?7) or no coach of the team would see it
INSERT INTO inbox (id, student_id, kind, done_id, urgent, created, head)
VALUES (
  ?1, ?2, ?3, ?4, ?5, ?6,
  ?5 AND (
    ?7 OR NOT EXISTS (
      SELECT 1
      FROM team AS t
      CROSS JOIN account AS a ON a.id = t.account_id
      WHERE t.student_id = ?2
        AND a.role = 'coach'
        AND a.disabled IS NULL
    )
  )
);

-- name: INBOX_LIST :many
SELECT i.id, i.student_id, i.kind, i.urgent, i.created, s.name, d.id, d.homework_id, d.done_at,
  d.account_id, d.comment, d.passed, d.passed_of, d.pain_area, d.pain_level, h.drill_id, r.name,
  f.fault, h.paused_at
{from_team_inbox}
{join_inbox}
WHERE t.account_id = ?1
  AND (i.urgent, i.id) < (?2, ?3)
  AND {unseen}
ORDER BY i.urgent DESC, i.id DESC
LIMIT ?4;

-- name: INBOX_LIST_HEAD :many
SELECT i.id, i.student_id, i.kind, i.head, i.created, s.name, d.id, d.homework_id, d.done_at,
  d.account_id, d.comment, d.passed, d.passed_of, d.pain_area, d.pain_level, h.drill_id, r.name,
  f.fault, h.paused_at
FROM inbox AS i
{join_inbox}
WHERE (i.head, i.id) < (?2, ?3)
  AND {unseen}
ORDER BY i.head DESC, i.id DESC
LIMIT ?4;

-- name: INBOX_COUNT :one
SELECT count(*)
{from_team_inbox}
WHERE t.account_id = ?1
  AND {unseen};

-- name: INBOX_COUNT_HEAD :one
SELECT count(*)
FROM inbox AS i
WHERE i.id > ''
  AND {unseen};

-- name: INBOX_PLACE :one
SELECT urgent
FROM inbox
WHERE id = ?1;

-- name: INBOX_PLACE_HEAD :one
SELECT head
FROM inbox
WHERE id = ?1;

-- name: INBOX_STUDENT :one
SELECT student_id
FROM inbox
WHERE id = ?1;

-- name: INBOX_SEE :exec
INSERT INTO inbox_seen (inbox_id, account_id, at)
VALUES (?1, ?2, ?3)
ON CONFLICT (inbox_id, account_id) DO NOTHING;
