-- Notes about a student.

-- name: NOTE_INSERT :exec
INSERT INTO note (id, student_id, author, text, readers, created)
VALUES (?1, ?2, ?3, ?4, ?5, ?6);

-- name: NOTE_BY_ID :one
SELECT id, student_id, author, text, readers, created
FROM note
WHERE id = ?1;

-- name: NOTE_LIST :many
-- a note is never changed: ?5 is since when
SELECT id, student_id, author, text, readers, created
FROM note
WHERE student_id = ?1
  AND id < ?2
  AND (?4 = 0 OR (readers & ?4) <> 0)
  AND created >= max(?5, ?6)
  AND created < ?7
ORDER BY id DESC
LIMIT ?3;
