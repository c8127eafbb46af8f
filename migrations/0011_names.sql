-- Two measures and two faults have new names. Changed where the program wrote or reads a name; never a text that somebody
-- wrote, and never a swing document, which stays byte for byte as it came and is read with either spelling.
CREATE TEMP TABLE renamed (old TEXT PRIMARY KEY, new TEXT NOT NULL);
INSERT INTO renamed VALUES ('shaft_plan', 'shaft_direction'), ('pelvis_thrust', 'hips_to_ball'),
  ('sway', 'hips_slide_away'), ('flat_shoulder_turn', 'level_shoulders');

UPDATE fix SET fault = (SELECT new FROM renamed WHERE old = fault) WHERE fault IN ('sway', 'flat_shoulder_turn');

-- Written by the program, without a blank between: a quote inside a text is written \" and so is never met here.
UPDATE report SET json = replace(replace(replace(replace(json, '"measure":"shaft_plan"', '"measure":"shaft_direction"'),
  '"measure":"pelvis_thrust"', '"measure":"hips_to_ball"'), '"fault":"sway"', '"fault":"hips_slide_away"'),
  '"fault":"flat_shoulder_turn"', '"fault":"level_shoulders"');
UPDATE idempotency SET response = replace(replace(replace(replace(response,
  '"measure":"shaft_plan"', '"measure":"shaft_direction"'), '"measure":"pelvis_thrust"', '"measure":"hips_to_ball"'),
  '"fault":"sway"', '"fault":"hips_slide_away"'), '"fault":"flat_shoulder_turn"', '"fault":"level_shoulders"')
  WHERE instr(response, '"shaft_plan"') OR instr(response, '"pelvis_thrust"') OR instr(response, '"fault":"sway"')
  OR instr(response, '"fault":"flat_shoulder_turn"');

-- Written by people, with any spacing: one name at a time, by its place in the document, until none is left.
CREATE TEMP TABLE rewritten AS
WITH RECURSIVE step (kind, id, json, at, name) AS (
  SELECT 'standard', CAST(number AS TEXT), json, '$', NULL FROM standard WHERE json_valid(json)
  UNION ALL SELECT 'drill', id, json, '$', NULL FROM drill WHERE json_valid(json)
  UNION ALL SELECT 'look', id, json, '$', NULL FROM look WHERE json_valid(json)
  UNION ALL
  SELECT s.kind, s.id, json_replace(s.json, t.fullkey, r.new), t.fullkey, r.new
  FROM step AS s JOIN json_tree(s.json) AS t JOIN renamed AS r ON r.old = t.atom
  WHERE t.type = 'text' AND (t.key IN ('measure', 'fault', 'from', 'to') OR t.path = '$.faults')
    AND t.id = (SELECT min(u.id) FROM json_tree(s.json) AS u JOIN renamed AS o ON o.old = u.atom
      WHERE u.type = 'text' AND (u.key IN ('measure', 'fault', 'from', 'to') OR u.path = '$.faults'))
)
SELECT kind, id, json FROM step AS s WHERE name IS NOT NULL AND NOT EXISTS (
  SELECT 1 FROM json_tree(s.json) AS t JOIN renamed AS r ON r.old = t.atom
  WHERE t.type = 'text' AND (t.key IN ('measure', 'fault', 'from', 'to') OR t.path = '$.faults'));
UPDATE standard SET json = (SELECT r.json FROM rewritten AS r WHERE r.kind = 'standard' AND r.id = CAST(number AS TEXT))
  WHERE CAST(number AS TEXT) IN (SELECT id FROM rewritten WHERE kind = 'standard');
UPDATE drill SET json = (SELECT r.json FROM rewritten AS r WHERE r.kind = 'drill' AND r.id = drill.id)
  WHERE id IN (SELECT id FROM rewritten WHERE kind = 'drill');
UPDATE look SET json = (SELECT r.json FROM rewritten AS r WHERE r.kind = 'look' AND r.id = look.id)
  WHERE id IN (SELECT id FROM rewritten WHERE kind = 'look');
DROP TABLE rewritten;
DROP TABLE renamed;
