#include "burstloom/common/cautions.hpp"
#include "burstloom/preview/page.hpp"
#include "burstloom/preview/sentence.hpp"
#include "burstloom/sets/pages.hpp"
#include "burstloom/sets/set_json.hpp"
#include "page_parts.hpp"
#include "set_json.hpp"

namespace burstloom {

std::string evening_page(const BuiltSet& set) {
  const Json data = {{"set", Json::parse(to_set_json(set))},
                     {"sentence", sentence_of(set.evening)},
                     {"cautions", caution_paragraphs()}};
  return filled_in(evening_template(), {{"{{title}}", html_text(set.name)},
                                        {"{{style}}", std::string(page_style()).append(evening_style())},
                                        {"{{data}}", json_script("data", text_of(data))},
                                        {"{{script}}", std::string(plot_script()).append(evening_script())}});
}

}  // namespace burstloom
