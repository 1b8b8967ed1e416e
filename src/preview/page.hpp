// The report's page, embedded at build time from src/preview/page and uPlot.
#pragma once

#include <string_view>

namespace burstloom {

[[nodiscard]] std::string_view
page_template();  ///< with {{title}}, {{style}}, {{data}}, {{script}} in this order
[[nodiscard]] std::string_view page_style();
[[nodiscard]] std::string_view page_script();

}  // namespace burstloom
