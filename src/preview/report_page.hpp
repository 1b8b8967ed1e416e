// The report's own part of its page, embedded at build time from src/preview/page.
#pragma once

#include <string_view>

namespace burstloom {

[[nodiscard]] std::string_view
report_template();  ///< with {{title}}, {{style}}, {{data}}, {{script}} in this order
[[nodiscard]] std::string_view report_script();  ///< after `plot_script()`

}  // namespace burstloom
