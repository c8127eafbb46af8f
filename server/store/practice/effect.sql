-- What became of a fault after a drill, and swings that were repeated.

-- name: EFFECT_OF_DRILL :many
-- Each homework of drill ?1 given from ?2 to ?3, the newest first: the report the fix was opened from, and the newest of a
-- lesson, else of a single swing, between then and the end of the homework or its fix (or now, ?4).
SELECT h.student_id, f.fault,
  (SELECT count(*) FROM homework_done WHERE homework_id = h.id AND is_session),
  coalesce(
    (
      SELECT max(r.number)
      FROM lesson AS l
      CROSS JOIN report AS r ON r.lesson_id = l.id
      WHERE l.id = f.baseline_lesson
        AND {lesson_counts}
    ),
    (
      SELECT max(r.number)
      FROM swing AS s
      CROSS JOIN report AS r ON r.swing_id = s.id
      WHERE s.id = f.baseline_swing
        AND {swing_counts}
    )
  ),
  coalesce(
    (
      SELECT (SELECT max(number) FROM report WHERE lesson_id = l.id)
      FROM lesson AS l
      WHERE l.student_id = h.student_id
        AND l.held_at > f.opened_at
        AND l.held_at <= coalesce(h.ended, f.ended_at, ?4)
        AND l.id IS NOT f.baseline_lesson
        AND {lesson_counts}
      ORDER BY l.held_at DESC
      LIMIT 1
    ),
    (
      SELECT (SELECT max(number) FROM report WHERE swing_id = s.id)
      FROM swing AS s
      WHERE s.student_id = h.student_id
        AND s.lesson_id IS NULL
        AND s.recorded_at > f.opened_at
        AND s.recorded_at <= coalesce(h.ended, f.ended_at, ?4)
        AND s.id IS NOT f.baseline_swing
        AND {swing_counts}
      ORDER BY s.recorded_at DESC
      LIMIT 1
    )
  )
FROM homework AS h
CROSS JOIN fix AS f ON f.id = h.fix_id
WHERE h.drill_id = ?1
  AND h.created >= ?2
  AND h.created < ?3
ORDER BY h.id DESC
LIMIT ?5;

-- name: EFFECT_REPEATS :many
-- the newest reports of the swings of student ?1's newest lesson in which ?2 of them or more count, as they were recorded
SELECT r.number
FROM swing AS s
CROSS JOIN report AS r ON r.number = (SELECT max(number) FROM report WHERE swing_id = s.id)
WHERE s.lesson_id = (
    SELECT l.id
    FROM lesson AS l
    WHERE l.student_id = ?1
      AND (SELECT count(*) FROM swing AS s WHERE s.lesson_id = l.id AND {swing_counts}) >= ?2
    ORDER BY l.id DESC
    LIMIT 1
  )
  AND {swing_counts}
ORDER BY s.recorded_at, s.id
LIMIT ?2;

-- name: EFFECT_MEASURES :one
SELECT packed
FROM report_measures
WHERE report = ?1;
