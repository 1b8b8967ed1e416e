#include "burstloom/preview/page.hpp"

#include "burstloom/common/error.hpp"

namespace burstloom {

std::string filled_in(std::string_view page,
                      const std::vector<std::pair<std::string_view, std::string>>& parts) {
  std::string html;
  for (const auto& [place, text] : parts) {
    const std::size_t at = page.find(place);
    html.append(page.substr(0, at)).append(text);
    page.remove_prefix(at + place.size());
  }
  return html.append(page);
}

std::string html_text(std::string_view text) {
  std::string safe;
  for (const char c : printable(std::string(text), std::string::npos)) switch (c) {
      case '&':
        safe += "&amp;";
        break;
      case '<':
        safe += "&lt;";
        break;
      case '>':
        safe += "&gt;";
        break;
      case '"':
        safe += "&quot;";
        break;
      default:
        safe += c;
    }
  return safe;
}

// '<' occurs in JSON inside strings only, and so does what nobody sees.
std::string json_script(const std::string& id, std::string_view json) {
  std::string html = "<script type=\"application/json\" id=\"" + id + "\">";
  for (const char c : printable(std::string(json), std::string::npos))
    c == '<' ? html += "\\u003c" : html += c;
  return html + "</script>\n";
}

}  // namespace burstloom
