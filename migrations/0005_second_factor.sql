-- A second factor of an account, the codes that stand in for it, and when a session last proved who uses it.

-- The secret is sealed with a key that lies beside this file and is in no copy of it. last_step: the newest time step
-- whose code was accepted; no code of it or an earlier one is accepted again. Until confirmed is set, nothing asks for it.
CREATE TABLE second_factor (
  account_id TEXT PRIMARY KEY NOT NULL REFERENCES account (id) ON DELETE CASCADE,
  sealed BLOB NOT NULL CHECK (length(sealed) = 60),
  started INTEGER NOT NULL,
  confirmed INTEGER,
  last_step INTEGER NOT NULL DEFAULT -1
) STRICT, WITHOUT ROWID;

-- A code that was used is removed.
CREATE TABLE recovery_code (
  account_id TEXT NOT NULL REFERENCES second_factor (account_id) ON DELETE CASCADE,
  code_hash BLOB NOT NULL CHECK (length(code_hash) = 32),
  PRIMARY KEY (account_id, code_hash)
) STRICT, WITHOUT ROWID;

ALTER TABLE session ADD COLUMN confirmed_at INTEGER;
