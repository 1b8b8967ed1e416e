#include "line_fit.hpp"

#include <algorithm>
#include <cmath>

namespace burstloom::align_detail {

// Sums about the running means (Welford 1962), so that an hour of microseconds costs no digits. The hull by
// Andrew's monotone chain (1979), of points that come in order of x.
void LineFit::add(double x, double y) {
  ++count_;
  const double n = static_cast<double>(count_), dx = x - mean_x_, dy = y - mean_y_;
  mean_x_ += dx / n;
  mean_y_ += dy / n;
  sxx_ += dx * (x - mean_x_);
  sxy_ += dx * (y - mean_y_);
  syy_ += dy * (y - mean_y_);
  const auto add_to = [&](std::vector<Point>& hull, double side) {
    const auto is_inside = [&] {
      const Point &a = hull[hull.size() - 2], &b = hull.back();
      return side * ((b.x - a.x) * (y - a.y) - (b.y - a.y) * (x - a.x)) <= 0;
    };
    while (hull.size() > 1 && is_inside()) hull.pop_back();
    hull.push_back({x, y});
  };
  add_to(below_, 1);
  add_to(above_, -1);
}

double LineFit::rms() const {
  return count_ > 0 ? std::sqrt(std::max(0.0, syy_ - slope() * sxy_) / static_cast<double>(count_)) : 0;
}
double LineFit::lowest() const {
  double lowest = 0;
  for (const Point& point : below_) lowest = std::min(lowest, off(point));
  return lowest;
}
double LineFit::highest() const {
  double highest = 0;
  for (const Point& point : above_) highest = std::max(highest, off(point));
  return highest;
}

}  // namespace burstloom::align_detail
