from scheduling.admin import plans, weather

__all__ = ["plans", "weather"]
