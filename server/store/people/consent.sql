-- Consents.

-- part: consent_counts
(
  c.given_at IS NOT NULL
    AND c.withdrawn_at IS NULL
    AND (c.expires IS NULL OR c.expires > {now_ms})
    AND c.as_junior = {is_junior}
)

-- part: join_pictures_consent
LEFT JOIN consent AS c ON c.id = (
  SELECT max(id)
  FROM consent
  WHERE student_id = s.id
    AND scope = 'store_pictures'
)

-- Of the student s: the newest word counts, and nobody's is enough of who is grown up.
-- part: may_keep_pictures
coalesce(
  (
    SELECT {consent_counts}
    FROM consent AS c
    WHERE c.id = (SELECT max(id) FROM consent WHERE student_id = s.id AND scope = 'store_pictures')
  ),
  NOT {is_junior}
)

-- name: CONSENT_INSERT :exec
INSERT INTO consent (
  id, student_id, scope, as_junior, said_by, recorded_by, given_at, expires, withdrawn_at,
  withdrawn_by
)
SELECT ?1, s.id, ?3, {is_junior}, ?4, ?5, ?6, ?7, ?8, ?9
FROM student AS s
WHERE s.id = ?2;

-- name: CONSENT_LIST :many
SELECT c.id, c.student_id, c.scope, c.as_junior, c.said_by, c.recorded_by, c.given_at, c.expires,
  c.withdrawn_at, c.withdrawn_by, {consent_counts}
  AND NOT EXISTS (
    SELECT 1
    FROM consent AS n
    WHERE n.student_id = c.student_id
      AND n.scope = c.scope
      AND n.id > c.id
  )
FROM consent AS c
CROSS JOIN student AS s ON s.id = c.student_id
WHERE c.student_id = ?1
ORDER BY c.id DESC
LIMIT ?2;

-- name: CONSENT_NEWEST :one
SELECT id
FROM consent
WHERE id = (SELECT max(id) FROM consent WHERE student_id = ?1 AND scope = ?2)
  AND withdrawn_at IS NULL;

-- name: CONSENT_WITHDRAW :exec
UPDATE consent
SET withdrawn_at = ?2, withdrawn_by = ?3
WHERE id = ?1;

-- name: CONSENT_ASK :exec
INSERT INTO consent_request (id, student_id, scope, note, asked_by, asked_at)
VALUES (?1, ?2, ?3, ?4, ?5, ?6);

-- name: CONSENT_REQUESTS :many
SELECT q.id, q.student_id, q.scope, q.note, q.asked_by, a.name, q.asked_at, q.answered_at,
  CASE WHEN q.answered_at IS NULL THEN 0 WHEN c.withdrawn_at IS NULL THEN 1 ELSE -1 END
FROM consent_request AS q
LEFT JOIN account AS a ON a.id = q.asked_by
LEFT JOIN consent AS c ON c.id = q.consent_id
WHERE q.student_id = ?1
ORDER BY q.id DESC
LIMIT ?2;

-- name: CONSENT_PICTURES :one
SELECT {may_keep_pictures}
FROM student AS s
WHERE s.id = ?1;
