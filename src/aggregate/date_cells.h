// Running means of segments by site, date and part of the day, source by source, and their means
// over the sources and over dates.
#pragma once

#include <cstdint>
#include <span>
#include <unordered_map>
#include <vector>

#include "aggregate/site_values.h"

namespace hearwood {

class DateCells {
  public:
    /// `columns` values a segment. With `spread` the variance within each date is kept as well.
    DateCells(std::size_t columns, bool spread) : columns_(columns), spread_(spread) {}

    struct Where {
        std::size_t site;
        Date date;
        int part;
        int source;  ///< one channel of one recorder
    };
    /// A possible segment; its values count only when it was kept.
    void add(const Where& where, bool kept, std::span<const double> values);

    /// Means over sources, ordered by site, date, part. Frees the sums.
    std::vector<DateMean> finish();

  private:
    struct Key {
        std::uint32_t site;
        std::int32_t day;
        std::int32_t part;
        std::uint32_t source;
        bool operator==(const Key&) const = default;
        auto operator<=>(const Key&) const = default;
    };
    struct KeyHash {
        std::size_t operator()(const Key& key) const;
    };
    struct Cell {
        Key key;
        int kept = 0, possible = 0;
    };
    std::size_t cell_of(const Key& key);
    void merge(DateMean& mean, std::span<const std::size_t> cells) const;

    std::size_t columns_;
    bool spread_;
    std::unordered_map<Key, std::size_t, KeyHash> indices_;
    std::vector<Cell> cells_;
    // Parallel to the cells, columns_ each: Welford's running mean, and sum of squared deviations.
    std::vector<double> means_, squares_;
    std::vector<std::uint32_t> counts_;
};

/// Means over dates of rows ordered as finish() gives them. A date counts where it has a value.
std::vector<SiteMean> means_over_dates(const std::vector<DateMean>& rows);

}  // namespace hearwood
