-- +goose Up

-- Who an assignment is given to: the id of a key, a person or a course of a learning
-- system. One that is given to nobody is for everybody who teaches in the organization, as
-- all were before.
CREATE TABLE assignment_teachers (
    assignment_id TEXT NOT NULL REFERENCES assignments (id) ON DELETE CASCADE,
    teacher       TEXT NOT NULL,
    PRIMARY KEY (assignment_id, teacher)
);
CREATE INDEX assignment_teachers_of ON assignment_teachers (teacher);

-- The assignment that a session is for, '' for any.
ALTER TABLE sessions ADD COLUMN assignment TEXT NOT NULL DEFAULT '';

-- +goose Down
ALTER TABLE sessions DROP COLUMN assignment;
DROP TABLE assignment_teachers;
