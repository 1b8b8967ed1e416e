#include "canvas.hpp"

#include <cairo-svg.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <new>

#include "burstloom/common/error.hpp"
#include "burstloom/common/files.hpp"

namespace burstloom::preview_detail {
namespace {

// Called from C code, which no exception may cross.
cairo_status_t append(void* bytes, const unsigned char* data, unsigned length) {
  try {
    static_cast<std::string*>(bytes)->append(reinterpret_cast<const char*>(data), length);
    return CAIRO_STATUS_SUCCESS;
  } catch (const std::bad_alloc&) {
    return CAIRO_STATUS_NO_MEMORY;
  }
}

std::uint32_t pixel(Colour colour) {
  const auto byte = [](double part) {
    return static_cast<std::uint32_t>(std::lround(std::clamp(part, 0.0, 1.0) * 255));
  };
  return byte(colour.r) << 16 | byte(colour.g) << 8 | byte(colour.b);
}

// By which Burstloom knows its own pictures again (common/overwrite.hpp): a comment, in the way of each kind.
std::string marked(std::string bytes, PictureKind kind) {
  if (kind == PictureKind::svg) return bytes.insert(bytes.find("?>\n") + 3, "<!-- made by Burstloom -->\n");
  constexpr std::size_t kAfterHeader = 8 + 4 + 4 + 13 + 4;  // signature; length, name, IHDR, checksum
  const std::string text = std::string("tEXtSoftware") + '\0' + "made by Burstloom";
  const auto in_order = [](std::uint32_t number) {
    std::string four;
    for (int shift = 24; shift >= 0; shift -= 8) four += static_cast<char>(number >> shift & 0xFF);
    return four;
  };
  const std::uint32_t crc = crc32({reinterpret_cast<const std::uint8_t*>(text.data()), text.size()});
  return bytes.insert(kAfterHeader,
                      in_order(static_cast<std::uint32_t>(text.size() - 4)) + text + in_order(crc));
}

void drop_last_character(std::string& words) {
  while (!words.empty() && (static_cast<unsigned char>(words.back()) & 0xC0) == 0x80) words.pop_back();
  if (!words.empty()) words.pop_back();
}

}  // namespace

Canvas::Canvas(PictureKind kind, int width, int height) : kind_(kind) {
  surface_.reset(kind == PictureKind::png
                     ? cairo_image_surface_create(CAIRO_FORMAT_RGB24, width, height)
                     : cairo_svg_surface_create_for_stream(append, &bytes_, width, height));
  context_.reset(cairo_create(surface_.get()));
  require_good();
  fill({0, 0, static_cast<double>(width), static_cast<double>(height)}, kPaper);
}

void Canvas::require_good() const {
  const cairo_status_t status = cairo_status(context_.get());
  if (status != CAIRO_STATUS_SUCCESS)
    throw Error(Fault::machine,
                std::string("the picture cannot be drawn (") + cairo_status_to_string(status) + ")", "",
                "close other programs, or show a shorter stretch");
}

void Canvas::set(Colour colour) {
  cairo_set_source_rgb(context_.get(), colour.r, colour.g, colour.b);
}

void Canvas::set_font(const Style& style) {
  cairo_select_font_face(context_.get(), "DejaVu Sans", CAIRO_FONT_SLANT_NORMAL,
                         style.bold ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
  cairo_set_font_size(context_.get(), style.size);
}

double Canvas::width_of(const std::string& words, const Style& style) {
  set_font(style);
  cairo_text_extents_t extents;
  cairo_text_extents(context_.get(), words.c_str(), &extents);
  return extents.x_advance;
}

void Canvas::text(double x, double y, const std::string& words, const Style& style, double widest) {
  std::string shown = printable(words, 400);
  if (width_of(shown, style) > widest) {
    while (!shown.empty() && width_of(shown + "...", style) > widest) drop_last_character(shown);
    shown += "...";
  }
  const double width = style.align == Align::left ? 0 : width_of(shown, style);
  set_font(style);
  set(style.colour);
  cairo_move_to(context_.get(), x - (style.align == Align::right ? width : width / 2), y);
  cairo_show_text(context_.get(), shown.c_str());
}

void Canvas::fill(const Box& box, Colour colour) {
  fill_all({box}, colour);
}

void Canvas::fill_all(const std::vector<Box>& boxes, Colour colour) {
  set(colour);
  for (const Box& box : boxes) cairo_rectangle(context_.get(), box.x, box.y, box.width, box.height);
  cairo_fill(context_.get());
}

void Canvas::frame(const Box& box, Colour colour, double width) {
  set(colour);
  cairo_set_line_width(context_.get(), width);
  cairo_rectangle(context_.get(), box.x, box.y, box.width, box.height);
  cairo_stroke(context_.get());
}

void Canvas::line(double x0, double y0, double x1, double y1, Colour colour, double width, bool dashed) {
  const double dashes[] = {8, 5};
  set(colour);
  cairo_set_line_width(context_.get(), width);
  cairo_set_dash(context_.get(), dashes, dashed ? 2 : 0, 0);
  cairo_move_to(context_.get(), x0, y0);
  cairo_line_to(context_.get(), x1, y1);
  cairo_stroke(context_.get());
  cairo_set_dash(context_.get(), nullptr, 0, 0);
}

void Canvas::curve(const std::vector<std::pair<double, double>>& points, Colour colour, double width) {
  cairo_new_path(context_.get());  // text leaves a point behind
  set(colour);
  cairo_set_line_width(context_.get(), width);
  cairo_set_line_join(context_.get(), CAIRO_LINE_JOIN_ROUND);
  for (const auto& [x, y] : points) cairo_line_to(context_.get(), x, y);
  cairo_stroke(context_.get());
}

void Canvas::pointer(double x, double y, double size, Colour colour) {
  cairo_move_to(context_.get(), x, y);
  cairo_line_to(context_.get(), x - size * 0.6, y - size);
  cairo_line_to(context_.get(), x + size * 0.6, y - size);
  cairo_close_path(context_.get());
  set(colour);
  cairo_fill_preserve(context_.get());
  set(kPaper);
  cairo_set_line_width(context_.get(), 1);
  cairo_stroke(context_.get());
}

void Canvas::image(const Box& box, int columns, int rows, const std::vector<Colour>& cells) {
  const std::unique_ptr<cairo_surface_t, FreeSurface> image(
      cairo_image_surface_create(CAIRO_FORMAT_RGB24, columns, rows));
  unsigned char* data = cairo_image_surface_get_data(image.get());
  if (data == nullptr) throw std::bad_alloc();
  const int stride = cairo_image_surface_get_stride(image.get());
  for (int row = 0; row < rows; ++row) {
    auto* line = reinterpret_cast<std::uint32_t*>(data + static_cast<std::ptrdiff_t>(row) * stride);
    for (int column = 0; column < columns; ++column)
      line[column] = pixel(cells[static_cast<std::size_t>(row) * static_cast<std::size_t>(columns) +
                                 static_cast<std::size_t>(column)]);
  }
  cairo_surface_mark_dirty(image.get());
  cairo_save(context_.get());
  cairo_translate(context_.get(), box.x, box.y);
  cairo_scale(context_.get(), box.width / columns, box.height / rows);
  cairo_set_source_surface(context_.get(), image.get(), 0, 0);
  cairo_pattern_set_filter(cairo_get_source(context_.get()), CAIRO_FILTER_BILINEAR);
  cairo_pattern_set_extend(cairo_get_source(context_.get()), CAIRO_EXTEND_PAD);
  cairo_rectangle(context_.get(), 0, 0, columns, rows);
  cairo_fill(context_.get());
  cairo_restore(context_.get());
}

void Canvas::clip(const Box& box) {
  cairo_save(context_.get());
  cairo_rectangle(context_.get(), box.x, box.y, box.width, box.height);
  cairo_clip(context_.get());
}
void Canvas::unclip() {
  cairo_restore(context_.get());
}

std::string Canvas::finish() {
  require_good();
  context_.reset();
  if (kind_ == PictureKind::png) cairo_surface_write_to_png_stream(surface_.get(), append, &bytes_);
  cairo_surface_finish(surface_.get());
  if (cairo_surface_status(surface_.get()) != CAIRO_STATUS_SUCCESS || bytes_.empty())
    throw Error(Fault::machine, "the picture cannot be made", "",
                "close other programs, or show a shorter stretch");
  return marked(std::move(bytes_), kind_);
}

}  // namespace burstloom::preview_detail
