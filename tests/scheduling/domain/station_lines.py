"""Lines of invented stations, and the shortest ways to read them."""

from scheduling.domain.station_files import read_station_file

STATION = "ZZTEST00001"


def element_line(element="TMAX", value="300", flags=",,7", day="20210610"):
    return f"{STATION},{day},{element},{value},{flags},0700\n"


def values_of(lines, **options):
    return [value.value for value in read_station_file(lines, **options).values()]


def only_problem(lines, **options):
    station_file = read_station_file(lines, **options)
    list(station_file.days())
    (problem,) = station_file.report.problems
    return problem
