-- +goose Up

-- Which assignment a link of a learning system is for, and the column of its gradebook.
CREATE TABLE lti_links (
    registration_id TEXT NOT NULL REFERENCES lti_registrations (id) ON DELETE CASCADE,
    deployment_id   TEXT NOT NULL,
    link            TEXT NOT NULL,
    assignment_id   TEXT NOT NULL REFERENCES assignments (id) ON DELETE CASCADE,
    line_item       TEXT NOT NULL DEFAULT '',
    readable        BIGINT NOT NULL DEFAULT 0,
    PRIMARY KEY (registration_id, deployment_id, link)
);
CREATE INDEX lti_links_of_assignment ON lti_links (assignment_id);

-- Who has come by a link: the learning system's opaque reference, and ours.
CREATE TABLE lti_pupils (
    registration_id TEXT NOT NULL,
    deployment_id   TEXT NOT NULL,
    link            TEXT NOT NULL,
    pupil           TEXT NOT NULL,
    reference       TEXT NOT NULL,
    PRIMARY KEY (registration_id, deployment_id, link, pupil),
    FOREIGN KEY (registration_id, deployment_id, link) REFERENCES lti_links (registration_id, deployment_id, link) ON DELETE CASCADE
);

-- +goose Down
DROP TABLE lti_pupils;
DROP TABLE lti_links;
