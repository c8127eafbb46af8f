-- How a student or the family is reached, and the club's own number for one: what tells two of one name apart.
ALTER TABLE student ADD COLUMN member_number TEXT CHECK (length(member_number) BETWEEN 1 AND 40);
ALTER TABLE student ADD COLUMN email TEXT CHECK (length(email) BETWEEN 3 AND 254);
ALTER TABLE student ADD COLUMN phone TEXT CHECK (length(phone) BETWEEN 3 AND 40);
CREATE UNIQUE INDEX student_by_member ON student (member_number) WHERE member_number IS NOT NULL;
