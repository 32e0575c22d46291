package lti

import (
	"context"
	"net/http"
	"slices"
	"time"

	"github.com/golang-jwt/jwt/v5"
)

// Item is something chosen in deep linking, of which the learning system makes a link to
// this service (DL 3.3, type ltiResourceLink).
type Item struct {
	Title string
	Text  string
	// Target is what the link opens; "" for the beginning of the service. Path begins
	// with a slash.
	Path string
	// Custom comes back with each launch of the link.
	Custom map[string]string
	// Points is what is most to be had for it; 0 makes no column in the gradebook.
	// Resource names it among ours, so that the column is found again.
	Points   float64
	Resource string
	// Opens and Closes are when pupils may hand in, zero for no bound.
	Opens, Closes time.Time
}

const typeItem = "ltiResourceLink"

// Choose answers deep linking with what was chosen, nothing for none: the page that is
// written posts a signed answer to the learning system (DL 4.5). Who asks must be a
// teacher.
func (t *Tool) Choose(w http.ResponseWriter, r *http.Request, to *Registration, m *Message, items ...Item) error {
	token, err := t.ChoiceToken(r.Context(), to, m, items...)
	if err != nil {
		return err
	}
	if err := t.Guard.CheckURL(m.Choice.Return, t.Plain); err != nil {
		return PlatformRefuses.from("The learning system's address for what was chosen cannot be used: "+err.Error()+".", err)
	}
	return writePage(w, http.StatusOK, pageReturn, pageData{"address": m.Choice.Return, "token": token})
}

// ChoiceToken is the signed answer alone.
func (t *Tool) ChoiceToken(ctx context.Context, to *Registration, m *Message, items ...Item) (string, error) {
	switch {
	case m.Choice == nil:
		return "", NotGranted.Because("The launch does not ask for a choice.")
	case !m.Teacher():
		return "", TeachersOnly.Because("The roles of the launch are none of a teacher.")
	case len(items) > 0 && !slices.Contains(m.Choice.Types, typeItem):
		return "", NotGranted.Because("The learning system takes no links to this service here.")
	case len(items) > 1 && !m.Choice.Multiple:
		return "", NotGranted.Because("The learning system takes one link here, not several.")
	}
	content := []map[string]any{}
	for _, item := range items {
		content = append(content, t.contentItem(m.Choice, item))
	}
	now := t.Store.Now()
	claims := jwt.MapClaims{
		"iss": to.ClientID, "aud": []string{to.Issuer}, "iat": now.Unix(), "exp": now.Add(assertionFor).Unix(), "nonce": newSecret(),
		claimPrefix + "message_type": "LtiDeepLinkingResponse", claimPrefix + "version": version,
		claimPrefix + "deployment_id": m.Deployment, claimItems: content,
	}
	if m.Choice.HasData { // DL 4.5.4: it must go back as it came
		claims[claimData] = m.Choice.Data
	}
	if len(items) == 0 {
		claims[claimDLMessage] = "Nothing was chosen."
	}
	return t.keys.sign(ctx, claims)
}

// contentItem writes a link, with a column of the gradebook unless the learning system
// says that it makes none.
func (t *Tool) contentItem(c *Choice, item Item) map[string]any {
	content := map[string]any{"type": typeItem, "url": t.at("/" + trimSlash(item.Path)), "title": item.Title}
	if item.Text != "" {
		content["text"] = item.Text
	}
	if len(item.Custom) > 0 {
		content["custom"] = item.Custom
	}
	if item.Points > 0 && (c.LineItems == nil || *c.LineItems) {
		content["lineItem"] = map[string]any{"label": item.Title, "scoreMaximum": item.Points, "resourceId": item.Resource}
	}
	span := map[string]string{}
	if !item.Opens.IsZero() {
		span["startDateTime"] = item.Opens.UTC().Format(time.RFC3339)
	}
	if !item.Closes.IsZero() {
		span["endDateTime"] = item.Closes.UTC().Format(time.RFC3339)
	}
	if len(span) > 0 {
		content["submission"] = span
	}
	return content
}

func trimSlash(path string) string {
	for len(path) > 0 && path[0] == '/' {
		path = path[1:]
	}
	return path
}
