-- Everything held on one student. A table that gains a reference to a student must gain a statement here: a
-- test compares this register with the schema.

-- part: own_swings
(SELECT id FROM swing WHERE student_id = ?1)

-- part: own_fixes
(SELECT id FROM fix WHERE student_id = ?1)

-- name: EXPORT_STUDENT :many
SELECT id, name, hand, sex, birth_date, birth_year, height_m, handicap, tendencies, member_number, email, phone, pain, pain_note,
  wants, {is_junior} AS junior, created, archived, updated_at
FROM student AS s
WHERE id = ?1;

-- name: EXPORT_CONSENT :many
SELECT id, scope, as_junior, said_by, recorded_by, given_at, expires, withdrawn_at, withdrawn_by
FROM consent
WHERE student_id = ?1
ORDER BY scope, id;

-- name: EXPORT_CONSENT_REQUEST :many
SELECT id, scope, note, asked_by, asked_at, answered_at, consent_id
FROM consent_request
WHERE student_id = ?1
ORDER BY id;

-- name: EXPORT_ACCOUNT :many
SELECT id, role, name, sign_in, created, disabled
FROM account
WHERE student_id = ?1;

-- name: EXPORT_SESSION :many
SELECT s.id, s.kind, s.device_id, s.created, s.last_seen, s.expires, s.confirmed_at, s.revoked
FROM account AS a
CROSS JOIN session AS s ON s.account_id = a.id
WHERE a.student_id = ?1
ORDER BY s.id;

-- name: EXPORT_SECOND_FACTOR :many
SELECT f.account_id, f.started, f.confirmed,
  (SELECT count(*) FROM recovery_code AS r WHERE r.account_id = f.account_id) AS recovery_codes_left
FROM account AS a
CROSS JOIN second_factor AS f ON f.account_id = a.id
WHERE a.student_id = ?1;

-- name: EXPORT_GUARDIAN :many
SELECT g.account_id, a.name, g.created
FROM guardian AS g
CROSS JOIN account AS a ON a.id = g.account_id
WHERE g.student_id = ?1
ORDER BY g.account_id;

-- name: EXPORT_TEAM :many
SELECT t.account_id, a.name, t.created
FROM team AS t
CROSS JOIN account AS a ON a.id = t.account_id
WHERE t.student_id = ?1
ORDER BY t.account_id;

-- name: EXPORT_HANDOVER :many
SELECT id, from_id, to_id, coalesce(offered_by, from_id) AS offered_by, iif(?2, note, NULL) AS note, stays,
  created, status, answered_by, answered_at, iif(?2, reason, NULL) AS reason
FROM handover
WHERE student_id = ?1
ORDER BY id;

-- name: EXPORT_LESSON :many
SELECT id, coach, held_at, created, iif(?2, note, NULL) AS note
FROM lesson
WHERE student_id = ?1
ORDER BY id;

-- name: EXPORT_SWING :many
SELECT id, lesson_id, uploaded_by, recorded_at, received_at, media_type, reading AS reading_json,
  iif(media_type = 'application/json', iif(packed IS NULL, document, unpacked(packed, size)), NULL) AS document_json,
  iif(media_type = 'application/json', NULL, iif(packed IS NULL, document, unpacked(packed, size))) AS file
FROM swing
WHERE student_id = ?1
ORDER BY id;

-- name: EXPORT_SWING_EDIT :many
SELECT swing_id, version, changed_at, revision, revised_by, revised_at,
  iif(?2, revised_reason, NULL) AS revised_reason, void_by, void_at,
  iif(?2, void_reason, NULL) AS void_reason, moved_by, moved_at,
  iif(?2, moved_reason, NULL) AS moved_reason
FROM swing_edit
WHERE swing_id IN {own_swings}
ORDER BY swing_id;

-- name: EXPORT_REVISION :many
SELECT r.swing_id, r.number, r.made_by, r.created, iif(?2, r.reason, NULL) AS reason,
  (SELECT id FROM report WHERE number = r.report) AS report_id,
  iif(r.packed IS NULL, r.document, unpacked(r.packed, r.size)) AS document_json
FROM revision AS r
WHERE r.swing_id IN {own_swings}
ORDER BY r.swing_id, r.number;

-- name: EXPORT_REPORT :many
SELECT r.id, r.swing_id, r.lesson_id, r.standard, r.created, iif(r.packed IS NULL, r.json, unpacked(r.packed, r.size)) AS report_json
FROM report AS r
WHERE r.swing_id IN {own_swings}
  OR r.lesson_id IN (SELECT id FROM lesson WHERE student_id = ?1)
ORDER BY r.number;

-- name: EXPORT_LOOK :many
SELECT id, swing_id, account_id, created, version, json AS look_json, changed_at, later AS later_json
FROM look
WHERE swing_id IN {own_swings}
ORDER BY id;

-- name: EXPORT_STILL :many
SELECT t.id, t.swing_id, t.view, t.checkpoint, t.media_type, t.width, t.height, t.put_by, t.created,
  t.picture_size,
  '/v1/swings/' || t.swing_id || '/stills/' || t.view || '-' || t.checkpoint AS address
FROM swing AS w
CROSS JOIN still AS t ON t.swing_id = w.id
WHERE w.student_id = ?1
  AND (SELECT {may_keep_pictures} FROM student AS s WHERE s.id = ?1)
ORDER BY w.id;

-- name: EXPORT_FIX :many
SELECT id, fault, opened_by, opened_at, status, ended_at, reason,
  iif(?2, overrule, NULL) AS overrule, waits, iif(?2, together, NULL) AS together, baseline_swing,
  baseline_lesson, iif(?2, conflicts, NULL) AS conflicts_json
FROM fix
WHERE student_id = ?1
ORDER BY id;

-- name: EXPORT_FIX_EVENT :many
SELECT fix_id, at, account_id, status, reason
FROM fix_event
WHERE fix_id IN {own_fixes}
ORDER BY number;

-- name: EXPORT_RETEST :many
SELECT id, fix_id, begun_at, due_at, planned_by, moved_by, moved_at,
  iif(?2, moved_reason, NULL) AS moved_reason, ended_at
FROM retest
WHERE student_id = ?1
ORDER BY id;

-- name: EXPORT_HOMEWORK :many
SELECT id, fix_id, drill_id, sessions_per_week, minutes, self_check_every, retest_at,
  iif(?2, confirmed, NULL) AS confirmed, word_pain, paused_at, paused_area, paused_level,
  resumed_at, resumed_by, iif(?2, resumed_reason, NULL) AS resumed_reason, assigned_by, created,
  ended
FROM homework
WHERE student_id = ?1
ORDER BY id;

-- name: EXPORT_HOMEWORK_DONE :many
SELECT id, homework_id, done_at, account_id, comment, passed, passed_of, pain_area, pain_level
FROM homework_done
WHERE homework_id IN (SELECT id FROM homework WHERE student_id = ?1)
ORDER BY id;

-- name: EXPORT_ROUND :many
SELECT id, made_by, played_at, created, holes, count, shots AS shots_json
FROM round
WHERE student_id = ?1
ORDER BY id;

-- name: EXPORT_INBOX :many
SELECT i.id, i.kind, i.done_id, i.urgent, i.created, i.account_id, i.by_id, i.due_at, i.handover_id,
  i.fix_id, i.retest_id, i.request_id,
  (SELECT group_concat(account_id) FROM inbox_seen WHERE inbox_id = i.id) AS seen_by
FROM inbox AS i
WHERE i.student_id = ?1
ORDER BY i.urgent, i.id;

-- name: EXPORT_NOTE :many
SELECT id, author, text, readers, created
FROM note
WHERE student_id = ?1
  AND (?2 OR readers & ?3)
ORDER BY id;

-- name: EXPORT_AUDIT :many
SELECT id, at, account_id, action, object_kind, object_id, detail AS detail_json
FROM audit
WHERE student_id = ?1
  AND ?2
ORDER BY id;

-- name: EXPORT_IDEMPOTENCY :many
SELECT principal, key, route, status, created, response AS response_json
FROM idempotency
WHERE student_id = ?1
  AND ?2
ORDER BY created;

-- name: EXPORT_ACCOUNT_LINK :many
SELECT l.account_id, l.made_by, l.created, l.expires
FROM account AS a
CROSS JOIN account_link AS l ON l.account_id = a.id
WHERE a.student_id = ?1;

-- name: EXPORT_CALENDAR :many
SELECT account_id, student_id, created
FROM calendar
WHERE student_id = ?1
ORDER BY account_id;
