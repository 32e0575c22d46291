package lti

import (
	"context"
	"encoding/json"
	"net/http"
)

// Bounds on lists of members.
const (
	maxMembers     = 20_000
	maxMembersPage = 8 << 20
	typeMembers    = "application/vnd.ims.lti-nrps.v2.membershipcontainer+json"
)

// Member is somebody in a course (NRPS 2.2.2). Names are there if the learning system
// shares them; they are for the teacher's eyes at this moment, and never stored.
type Member struct {
	// Subject is the opaque reference under which launches and scores know the member.
	Subject string   `json:"user_id"`
	Roles   []string `json:"roles"`
	// Status is Active, Inactive or Deleted; "" means Active.
	Status string `json:"status"`
	Name   string `json:"name"`
	Given  string `json:"given_name"`
	Family string `json:"family_name"`
}

// Members lists who is in the course of a teacher's launch, from all pages; who has left
// it is not listed.
func (t *Tool) Members(ctx context.Context, r *Registration, m *Message) ([]Member, error) {
	switch {
	case !m.Teacher():
		return nil, TeachersOnly.Because("The roles of the launch are none of a teacher.")
	case m.Names == nil:
		return nil, NotGranted.Because("The launch offers no list of the course's members.")
	}
	var all []Member
	err := t.everyPage(ctx, r, call{
		method: http.MethodGet, address: m.Names.Address, accept: typeMembers, scopes: []string{ScopeNames}, most: maxMembersPage,
	}, func(body []byte) error {
		var page struct{ Members []Member }
		if err := json.Unmarshal(body, &page); err != nil {
			return PlatformFails.Because("The list of members cannot be read.")
		}
		for _, one := range page.Members {
			if one.Subject != "" && (one.Status == "" || one.Status == "Active") {
				all = append(all, one)
			}
		}
		if len(all) > maxMembers {
			return PlatformRefuses.Because("The course has more members than are read.")
		}
		return nil
	})
	return all, err
}
