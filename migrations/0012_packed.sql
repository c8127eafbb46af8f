-- Documents and reports packed (store/engine/packed.h). A row has its text in one of two places: packed, with `size` bytes once it
-- is unpacked, and then document (json) is empty; or as it was, and then both are NULL. Nothing that is there is rewritten.
ALTER TABLE swing ADD COLUMN size INTEGER;
ALTER TABLE swing ADD COLUMN packed BLOB;
ALTER TABLE report ADD COLUMN size INTEGER;
ALTER TABLE report ADD COLUMN packed BLOB;
