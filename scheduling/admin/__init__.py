from scheduling.admin import forecasts, plans, replays, weather, weather_files

__all__ = ["forecasts", "plans", "replays", "weather", "weather_files"]
