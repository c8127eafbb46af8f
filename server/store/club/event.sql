-- Live events: the audit's rows in the order of their commits.

-- An id is its number and the end of its audit row's id, so that one of another file (a restored one) is told apart.
-- part: event_id
printf('%d-%s', e.number, substr(e.audit_id, 25))

-- name: EVENT_LIST :many
-- from ?1 to ?3, oldest first
SELECT e.number, {event_id}, a.action, a.object_kind, a.object_id, a.student_id, a.account_id, o.from_id, o.to_id,
  n.readers
FROM event AS e
CROSS JOIN audit AS a ON a.id = e.audit_id
LEFT JOIN handover AS o ON a.object_kind = 'handover'
  AND o.id = a.object_id
LEFT JOIN note AS n ON a.object_kind = 'note'
  AND n.id = a.object_id
WHERE e.number BETWEEN ?1 AND ?3
ORDER BY e.number
LIMIT ?2;

-- name: EVENT_NEWEST :one
SELECT e.number, {event_id}
FROM event AS e
WHERE e.number = (SELECT max(number) FROM event);

-- name: EVENT_KNOWN :one
SELECT e.number
FROM event AS e
WHERE e.number = ?1
  AND {event_id} = ?2;

-- name: EVENT_AUDIENCE :many
SELECT account_id
FROM team
WHERE student_id = ?1
UNION ALL
SELECT account_id
FROM guardian
WHERE student_id = ?1
LIMIT ?2;

-- name: EVENT_PURGE :exec
DELETE FROM event
WHERE number IN (
    SELECT number
    FROM event
    WHERE number <= (SELECT max(number) FROM event) - ?1
    LIMIT 2000
  );
