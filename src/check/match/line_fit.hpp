// The straight line through a song's times and the capture's, and how far the points lie from it. In constant
// memory, but for the few points that may lie furthest.
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

namespace burstloom::align_detail {

class LineFit {
 public:
  /// Points come with rising x.
  void add(double x, double y);

  [[nodiscard]] double slope() const { return sxx_ > 0 ? sxy_ / sxx_ : 0; }
  [[nodiscard]] double rms() const;
  /// Largest distances below and above: <= 0, >= 0.
  [[nodiscard]] double lowest() const;
  [[nodiscard]] double highest() const;

 private:
  struct Point {
    double x = 0, y = 0;
  };
  [[nodiscard]] double off(const Point& point) const {
    return point.y - mean_y_ - slope() * (point.x - mean_x_);
  }

  std::int64_t count_ = 0;
  double mean_x_ = 0, mean_y_ = 0, sxx_ = 0, sxy_ = 0, syy_ = 0;
  // Whatever the line, the point furthest from it is a corner of the convex hull of all.
  std::vector<Point> below_, above_;
};

}  // namespace burstloom::align_detail
