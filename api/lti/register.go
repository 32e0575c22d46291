package lti

import (
	"bytes"
	"encoding/json"
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"partwright/worker/store"
)

// maxDiscovery bounds what a learning system says of itself.
const maxDiscovery = 256 << 10

const toolClaim = "https://purl.imsglobal.org/spec/lti-tool-configuration"

// discovered is what a learning system says of itself (OpenID Connect Discovery 1.0, 3;
// DR 3.4).
type discovered struct {
	Issuer        string   `json:"issuer"`
	Authorization string   `json:"authorization_endpoint"`
	Token         string   `json:"token_endpoint"`
	Keys          string   `json:"jwks_uri"`
	Registration  string   `json:"registration_endpoint"`
	Audience      string   `json:"authorization_server"`
	Scopes        []string `json:"scopes_supported"`
}

// NewInvitation returns a secret, and the hash under which it is kept.
func NewInvitation() (secret, hash string) {
	secret = newSecret()
	return secret, hashOf(secret)
}

// InvitationAddress is what an administrator pastes into the learning system.
func InvitationAddress(base, secret string) string {
	return strings.TrimSuffix(base, "/") + RegisterPath + "?" + url.Values{"invitation": {secret}}.Encode()
}

// Register answers the address that an administrator pasted into a learning system, which
// opens it with where it says what it is (DR 3.2): this service reads that, registers
// itself there, and keeps what came of it. The invitation says whose learning system it
// is and counts once.
func (t *Tool) Register(w http.ResponseWriter, r *http.Request) error {
	q, err := form(w, r, []string{"openid_configuration", "registration_token", "invitation"})
	if err != nil {
		return err
	}
	hash := hashOf(q.Get("invitation"))
	organization, err := t.Store.Invitation(r.Context(), hash, false)
	if errors.Is(err, store.ErrNotFound) {
		return NotInvited.Because("The address holds no invitation, or one that was used or has expired.")
	}
	if err != nil {
		return err
	}
	if q.Get("openid_configuration") == "" {
		return LoginIncomplete.Because("The parameter openid_configuration is missing; paste the address into the learning system instead of opening it.")
	}
	platform, err := t.discover(r, q.Get("openid_configuration"))
	if err != nil {
		return err
	}
	client, deployments, err := t.registerAt(r, platform, q.Get("registration_token"))
	if err != nil {
		return err
	}
	if _, err := t.Store.Invitation(r.Context(), hash, true); err != nil {
		if errors.Is(err, store.ErrNotFound) {
			return NotInvited.Because("The invitation was used at the same moment.")
		}
		return err
	}
	_, err = t.Store.Register(r.Context(), Registration{
		Organization: organization, Issuer: platform.Issuer, ClientID: client,
		Authorization: platform.Authorization, Token: platform.Token, Keys: platform.Keys, Audience: platform.Audience,
	}, deployments...)
	if errors.Is(err, store.ErrNotFound) {
		return UnusableRegistration.Because("Another organization has registered this learning system under the same client id.")
	}
	if err != nil {
		return err
	}
	note := ""
	if len(deployments) == 0 {
		note = "The learning system named no deployment: the operator of this service adds it before the first launch."
	}
	return writePage(w, http.StatusOK, pageClose, pageData{"note": note})
}

// discover reads what a learning system says of itself, and refuses one that speaks for
// another (DR 3.4: the issuer must be of the host that is asked).
func (t *Tool) discover(r *http.Request, address string) (*discovered, error) {
	request, err := t.request(r.Context(), http.MethodGet, address, nil)
	if err != nil {
		return nil, err
	}
	request.Header.Set("Accept", "application/json")
	answer, err := t.do(request, maxDiscovery)
	if err != nil {
		return nil, err
	}
	d := &discovered{}
	if err := json.Unmarshal(answer.body, d); err != nil {
		return nil, UnusableRegistration.from("What the learning system says of itself cannot be read.", err)
	}
	issuer, asked := hostOf(d.Issuer), hostOf(address)
	if issuer == "" || issuer != asked {
		return nil, UnusableRegistration.Because("The learning system names an issuer on another host than its own.")
	}
	for name, one := range map[string]string{
		"authorization_endpoint": d.Authorization, "token_endpoint": d.Token, "jwks_uri": d.Keys, "registration_endpoint": d.Registration,
	} {
		if err := t.Guard.CheckURL(one, t.Plain); err != nil {
			return nil, UnusableRegistration.from("The learning system's "+name+" cannot be used: "+err.Error()+".", err)
		}
	}
	return d, nil
}

func hostOf(address string) string {
	u, err := url.Parse(address)
	if err != nil {
		return ""
	}
	return strings.ToLower(u.Hostname())
}

// registerAt registers this service at a learning system (DR 3.5 and 3.6; OpenID Connect
// Dynamic Client Registration 1.0, 3).
func (t *Tool) registerAt(r *http.Request, d *discovered, token string) (client string, deployments []string, err error) {
	body, err := json.Marshal(t.clientMetadata(d))
	if err != nil {
		return "", nil, err
	}
	request, err := t.request(r.Context(), http.MethodPost, d.Registration, bytes.NewReader(body))
	if err != nil {
		return "", nil, err
	}
	request.Header.Set("Content-Type", "application/json")
	request.Header.Set("Accept", "application/json")
	if token != "" {
		request.Header.Set("Authorization", "Bearer "+token)
	}
	answer, err := t.do(request, maxDiscovery)
	if err != nil {
		return "", nil, err
	}
	var granted struct {
		Client string `json:"client_id"`
		Tool   struct {
			Deployment string `json:"deployment_id"`
		} `json:"https://purl.imsglobal.org/spec/lti-tool-configuration"`
	}
	if json.Unmarshal(answer.body, &granted) != nil || granted.Client == "" || len(granted.Client) > maxIdentifier || len(granted.Tool.Deployment) > maxIdentifier {
		return "", nil, UnusableRegistration.Because("The learning system's answer holds no client id.")
	}
	if granted.Tool.Deployment != "" {
		deployments = []string{granted.Tool.Deployment}
	}
	return granted.Client, deployments, nil
}

// clientMetadata is what this service says of itself. It asks for no claim about a
// person but the opaque reference.
func (t *Tool) clientMetadata(d *discovered) map[string]any {
	var scopes []string
	for _, scope := range Scopes {
		if len(d.Scopes) == 0 || slices.Contains(d.Scopes, scope) {
			scopes = append(scopes, scope)
		}
	}
	return map[string]any{ // #nosec G101 -- what a registration says, no secret
		"application_type": "web", "response_types": []string{"id_token"}, "grant_types": []string{"implicit", "client_credentials"},
		"initiate_login_uri": t.at(LoginPath), "redirect_uris": []string{t.at(LaunchPath)}, "jwks_uri": t.at(KeysPath),
		"client_name": t.Name, "token_endpoint_auth_method": "private_key_jwt", "scope": strings.Join(scopes, " "),
		toolClaim: map[string]any{
			"domain": t.base.Host, "target_link_uri": t.at("/"), "claims": []string{"iss", "sub"},
			"messages": []map[string]any{
				{"type": typeLaunch, "target_link_uri": t.at("/")},
				{"type": typeDeepLinking, "target_link_uri": t.at("/"), "label": t.Name},
			},
		},
	}
}
