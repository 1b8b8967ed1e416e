// A page to draw on, as PNG or SVG (by cairo), and the few marks that the pictures are made of. Lengths are
// pixels from the top left corner.
#pragma once

#include <cairo.h>

#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "burstloom/preview/picture.hpp"

namespace burstloom::preview_detail {

struct Colour {
  double r, g, b;
};
/// Colours that colour-blind people can tell apart (Okabe and Ito, "Color Universal Design", 2008), and
/// greys.
inline constexpr Colour kInk{0.13, 0.13, 0.13}, kSoftInk{0.38, 0.38, 0.38}, kGrid{0.87, 0.87, 0.87},
    kPaper{1, 1, 1};
inline constexpr Colour kBlue{0.0, 0.447, 0.698}, kPaleBlue{0.80, 0.89, 0.95}, kVermilion{0.835, 0.369, 0.0};

enum class Align { left, centre, right };
struct Style {
  double size = 15;
  Align align = Align::left;
  Colour colour = kInk;
  bool bold = false;
};
struct Box {
  double x = 0, y = 0, width = 0, height = 0;
  [[nodiscard]] double right() const { return x + width; }
  [[nodiscard]] double bottom() const { return y + height; }
};

class Canvas {
 public:
  Canvas(PictureKind kind, int width, int height);

  /// One line of text with its baseline at y; what is wider than `widest` is cut and ends in dots.
  void text(double x, double y, const std::string& words, const Style& style, double widest = 1e9);
  [[nodiscard]] double width_of(const std::string& words, const Style& style);
  void fill(const Box& box, Colour colour);
  /// All at once: where they touch or overlap no seam shows.
  void fill_all(const std::vector<Box>& boxes, Colour colour);
  void frame(const Box& box, Colour colour, double width = 1);
  void line(double x0, double y0, double x1, double y1, Colour colour, double width = 1, bool dashed = false);
  void curve(const std::vector<std::pair<double, double>>& points, Colour colour, double width);
  /// A triangle that points down to (x, y), white-edged so that it stands out from any ground.
  void pointer(double x, double y, double size, Colour colour);
  /// An image of `columns` by `rows` (first row at the top) stretched over `box`.
  void image(const Box& box, int columns, int rows, const std::vector<Colour>& cells);
  /// What follows is drawn within `box` only, until `unclip`.
  void clip(const Box& box);
  void unclip();

  /// The file's bytes; ends the drawing.
  [[nodiscard]] std::string finish();

 private:
  void set(Colour colour);
  void set_font(const Style& style);
  void require_good() const;

  struct FreeSurface {
    void operator()(cairo_surface_t* surface) const { cairo_surface_destroy(surface); }
  };
  struct FreeContext {
    void operator()(cairo_t* context) const { cairo_destroy(context); }
  };
  PictureKind kind_;
  std::string bytes_;  // an SVG is written while it is drawn
  std::unique_ptr<cairo_surface_t, FreeSurface> surface_;
  std::unique_ptr<cairo_t, FreeContext> context_;
};

}  // namespace burstloom::preview_detail
