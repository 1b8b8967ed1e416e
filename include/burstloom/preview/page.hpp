// What pages are made of: a template with places to fill, text and data that cannot become markup, the
// report's look and its plots over time.
#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace burstloom {

/// Colours, tables, plots, in the light and in the dark. Embedded from src/preview/page.
[[nodiscard]] std::string_view page_style();
/// uPlot and our plots over time; what a page has to say to them stands at the top of panels.js.
[[nodiscard]] std::string_view plot_script();

/// The template with each place, such as "{{title}}", replaced; `parts` in the order of their places.
[[nodiscard]] std::string filled_in(std::string_view page,
                                    const std::vector<std::pair<std::string_view, std::string>>& parts);

/// Text that may stand in HTML, between tags and in quoted attributes. Broken UTF-8 stays: browsers show it
/// as U+FFFD.
[[nodiscard]] std::string html_text(std::string_view text);

/// `json` in a script element that its page reads by `id`: nothing in it can end the element or begin a
/// comment.
[[nodiscard]] std::string json_script(const std::string& id, std::string_view json);

}  // namespace burstloom
