-- Who is on the tee today, with what a coach wants to know first.

-- name: TODAY_ACTIVE :many
-- of the team of ?1: a swing arrived or a lesson was written down since (?2 is the least id of then), the last first
SELECT student_id
FROM (
    SELECT t.student_id,
      max(
        coalesce((SELECT max(w.id) FROM swing AS w WHERE w.student_id = t.student_id AND w.id >= ?2), ''),
        coalesce((SELECT max(l.id) FROM lesson AS l WHERE l.student_id = t.student_id AND l.id >= ?2), '')
      ) AS last
    FROM team AS t
    WHERE t.account_id = ?1
  )
WHERE last <> ''
ORDER BY last DESC
LIMIT ?3;

-- name: TODAY_STUDENT :one
-- ?1 = who asks, ?2 = now, ?3 = the student
SELECT s.id, s.name, s.hand, s.sex, {is_junior}, s.pain, s.pain_note,
  f.id, f.fault, f.opened_at, r.due_at,
  (SELECT count(*) FROM fix WHERE student_id = s.id AND status = 'open'),
  n.id, n.text, n.created, a.name,
  o.id, o.note, o.created, b.name,
  (
    SELECT count(*)
    FROM inbox AS j INDEXED BY inbox_by_student
    WHERE j.student_id = s.id
      AND (j.account_id IS NULL OR j.account_id = ?1)
      AND {unseen}
  ),
  (
    SELECT count(*)
    FROM inbox AS j INDEXED BY inbox_by_student
    WHERE j.student_id = s.id
      AND j.urgent = 1
      AND (j.account_id IS NULL OR j.account_id = ?1)
      AND {unseen}
  ), {last_still},
  (SELECT recorded_at FROM swing WHERE student_id = s.id ORDER BY id DESC LIMIT 1)
FROM student AS s
LEFT JOIN fix AS f ON f.id = (
    SELECT max(id)
    FROM fix
    WHERE student_id = s.id
      AND status = 'open'
      AND waits = 0
  )
LEFT JOIN retest AS r ON r.fix_id = f.id AND r.ended_at IS NULL
LEFT JOIN note AS n ON n.id = (SELECT max(id) FROM note WHERE student_id = s.id)
LEFT JOIN account AS a ON a.id = n.author
LEFT JOIN handover AS o ON o.id = (SELECT max(id) FROM handover WHERE student_id = s.id)
LEFT JOIN account AS b ON b.id = o.from_id
WHERE s.id = ?3
  AND s.archived IS NULL;
