-- A link ends with its maker. Kept answers stop naming their request's body by a hash that can be guessed at speed: what
-- was hashed without a key is forgotten, and the request is known by its key alone.

CREATE INDEX account_link_by_maker ON account_link (made_by);

UPDATE idempotency SET body_hash = zeroblob(32);
