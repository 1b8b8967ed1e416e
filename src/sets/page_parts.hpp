// Templates, styles and scripts of the set's pages, embedded at build time from src/sets/page.
#pragma once

#include <string_view>

namespace burstloom {

[[nodiscard]] std::string_view
evening_template();  ///< with {{title}}, {{style}}, {{data}}, {{script}} in this order
[[nodiscard]] std::string_view evening_style();   ///< after `page_style()`
[[nodiscard]] std::string_view evening_script();  ///< after `plot_script()`
[[nodiscard]] std::string_view sheet_template();
[[nodiscard]] std::string_view sheet_style();

}  // namespace burstloom
