-- What is done to a swing after it was sent.

-- name: EDIT_STATE :one
SELECT coalesce(e.version, 1), s.student_id, s.lesson_id
{from_swing}
WHERE s.id = ?1;

-- name: EDIT_ROW :exec
INSERT INTO swing_edit (swing_id)
VALUES (?1)
ON CONFLICT (swing_id) DO NOTHING;

-- name: EDIT_BEGIN :exec
UPDATE swing_edit
SET version = version + 1, changed_at = ?3
WHERE swing_id = ?1
  AND version = ?2;

-- name: EDIT_KEEP_DOCUMENT :exec
-- ?2: the new row's id
INSERT INTO revision (
  id, swing_id, number, made_by, created, reason, report, document_hash, document_size, size,
  packed, document
)
SELECT ?2, s.id, e.revision, coalesce(e.revised_by, s.uploaded_by),
  coalesce(e.revised_at, s.received_at), e.revised_reason,
  (SELECT max(number) FROM report WHERE swing_id = s.id), s.document_hash, s.document_size, s.size,
  s.packed, s.document
FROM swing AS s
CROSS JOIN swing_edit AS e ON e.swing_id = s.id
WHERE s.id = ?1;

-- name: EDIT_DOCUMENT :exec
UPDATE swing
SET recorded_at = ?2, document_hash = ?3, document_size = length(?4), document = ?4, size = ?5,
  packed = ?6
WHERE id = ?1
  AND reading IS NULL;

-- name: EDIT_REVISED :exec
UPDATE swing_edit
SET revision = revision + 1, revised_at = ?2, revised_by = ?3, revised_reason = ?4
WHERE swing_id = ?1;

-- name: EDIT_VOID :exec
UPDATE swing_edit
SET void_at = ?2, void_by = ?3, void_reason = ?4
WHERE swing_id = ?1;

-- name: EDIT_MOVED :exec
UPDATE swing_edit
SET moved_at = ?2, moved_by = ?3, moved_reason = ?4
WHERE swing_id = ?1;

-- name: EDIT_MOVE :exec
UPDATE swing
SET student_id = ?2, lesson_id = NULL
WHERE id = ?1;

-- name: EDIT_FORGET_REPORTS :exec
DELETE FROM report
WHERE swing_id = ?1;

-- name: EDIT_FORGET_LESSON_REPORTS :exec
DELETE FROM report
WHERE lesson_id = ?1;

-- name: EDIT_FORGET_LESSON_ANSWERS :exec
DELETE FROM idempotency
WHERE student_id = ?1
  AND object_id = ?2
  AND object_kind = 'lesson';

-- name: EDIT_MOVE_ANSWERS :exec
-- the report that the upload was answered with is gone
UPDATE idempotency
SET student_id = ?3, response = ?4
WHERE student_id = ?1
  AND object_id = ?2
  AND object_kind = 'swing';

-- name: EDIT_BASELINE_EVENT :exec
INSERT INTO fix_event (fix_id, at, account_id, status)
SELECT id, ?2, ?3, status
FROM fix
WHERE baseline_swing = ?1;

-- name: EDIT_BASELINE :exec
UPDATE fix
SET baseline_swing = NULL, version = version + 1
WHERE baseline_swing = ?1;

-- name: EDIT_LESSON :exec
UPDATE lesson
SET version = version + 1
WHERE id = ?1
  AND version = ?2;

-- name: EDIT_LESSON_SWINGS :many
SELECT s.id
FROM swing AS s
WHERE s.lesson_id = ?1
  AND {swing_counts}
ORDER BY s.id
LIMIT ?2;

-- name: EDIT_REVISIONS :many
SELECT r.id, r.number, r.made_by, r.created, r.reason,
  (SELECT id FROM report WHERE number = r.report), r.document_hash, coalesce(r.size, r.document_size)
FROM revision AS r
WHERE r.swing_id = ?1
ORDER BY r.number DESC
LIMIT ?2;
